"""Known changes come back with their dates, shapes and sizes, and intervals cover as often as they say."""

from itertools import product

import numpy as np
import pytest
from scipy.signal import lfilter
from scipy.stats import multivariate_normal, norm

from sevenppb.detect.drift import autoregression, change, switching

DAYS, EARLIEST = 300, 90


def remembering(rng, phi, n):
    fresh = rng.standard_normal(n + 60) * np.sqrt(1.0 - phi**2)
    return lfilter([1.0], [1.0, -phi], fresh)[60:]


def course(shape, onset, rng):
    days = np.arange(DAYS)
    if shape == "step":
        return (days >= onset).astype(float)
    if shape == "ramp":
        length = int(np.exp(rng.uniform(np.log(10), np.log(150))))
        return np.clip((days - onset + 1) / length, 0.0, 1.0)
    switch, day = np.zeros(DAYS), onset
    while day < DAYS:
        on, off = 2 + rng.geometric(0.1), 2 + rng.geometric(0.1)
        switch[day : day + on] = 1.0
        day += on + off
    return switch


@pytest.fixture(scope="module")
def trials():
    """By shape: (onset, size reached by the last day, found) of 50 made-up changes, a tenth of days out."""
    rng = np.random.default_rng(17)
    out = {}
    for shape in ("step", "ramp", "intermittent"):
        out[shape] = []
        for _ in range(50):
            phi, onset = rng.choice([0.2, 0.5, 0.7]), int(rng.integers(110, 220))
            size = rng.uniform(2.0, 5.0) * rng.choice([-1.0, 1.0])
            move = size * course(shape, onset, rng)
            y = 40.0 * (move + remembering(rng, phi, DAYS))
            y[rng.random(DAYS) < 0.1] = np.nan
            reached = 40.0 * (size if shape == "intermittent" else move[-1])
            out[shape].append((onset, reached, change.fit(y, 40.0, phi, EARLIEST)))
    return out


@pytest.mark.parametrize(("shape", "told"), [("step", 0.85), ("ramp", 0.8), ("intermittent", 0.9)])
def test_shapes_are_told_apart(trials, shape, told):
    assert np.mean([found.shape == shape for *_, found in trials[shape]]) >= told


@pytest.mark.parametrize(("shape", "days"), [("step", 0), ("ramp", 12), ("intermittent", 1)])
def test_onsets_come_back(trials, shape, days):
    assert np.median([abs(found.onset - onset) for onset, _, found in trials[shape]]) <= days


@pytest.mark.parametrize("shape", ["step", "ramp", "intermittent"])
def test_onset_intervals_cover(trials, shape):
    """Of a stated 90 %, on noise that remembers; a step's is one day wide and covers more."""
    covered = np.mean([found.low <= onset <= found.high for onset, _, found in trials[shape]])
    assert covered >= 0.82


@pytest.mark.parametrize("shape", ["step", "ramp", "intermittent"])
def test_size_intervals_cover(trials, shape):
    inside = [abs(found.size - size) < 1.645 * found.size_se for _, size, found in trials[shape]]
    assert 0.78 <= np.mean(inside) <= 0.98


def test_sizes_keep_their_sign_and_unit(trials):
    for found_ones in trials.values():
        right = [np.sign(found.size) == np.sign(size) for _, size, found in found_ones]
        assert np.mean(right) > 0.97


def test_a_growing_ramp_is_not_yet_whole():
    days = np.arange(DAYS)
    rising = 4.0 * np.clip((days - 200.0) / 100.0, 0.0, None) + remembering(
        np.random.default_rng(8), 0.3, DAYS
    )
    found = change.fit(rising, 1.0, 0.3, EARLIEST)
    assert (found.shape, found.full) == ("ramp", None)
    assert abs(found.size - 4.0) < 3.0 * found.size_se
    whole = 4.0 * np.clip((days - 150.0) / 50.0, 0.0, 1.0) + remembering(np.random.default_rng(9), 0.3, DAYS)
    found = change.fit(whole, 1.0, 0.3, EARLIEST)
    assert found.full is not None
    assert abs(found.full - 200) < 30


@pytest.mark.parametrize("power", [1.0, 2.0, 2.5])
def test_the_onset_of_a_rise_that_quickens_lies_in_its_interval(power):
    """Also between the powers that are tried."""
    rise = 10.0 * np.clip((np.arange(DAYS) - 119.0) / 120.0, 0.0, 1.0) ** power
    found = [
        change.fit(rise + remembering(np.random.default_rng(n), 0.5, DAYS), 1.0, 0.5, EARLIEST)
        for n in range(20)
    ]
    assert sum(one.low <= 120 <= one.high for one in found) >= 16
    assert {one.shape for one in found} == {"ramp"}


def test_onset_is_never_before_the_earliest():
    y = remembering(np.random.default_rng(10), 0.3, DAYS) + 3.0 * (np.arange(DAYS) >= 40)
    found = change.fit(y, 1.0, 0.3, EARLIEST)
    assert min(found.onset, found.low) >= EARLIEST


def test_noisy_days_count_less():
    """Ten wild days, said to be wild, don't date a change; told to be as good as any, they do."""
    rng = np.random.default_rng(12)
    y = remembering(rng, 0.0, DAYS) + 1.5 * (np.arange(DAYS) >= 200)
    sd = np.ones(DAYS)
    sd[120:130] = 8.0
    y[120:130] = 8.0
    assert abs(change.fit(y, sd, 0.0, EARLIEST).onset - 200) <= 3
    assert change.fit(y, 1.0, 0.0, EARLIEST).onset == 120


def test_an_unknown_level_is_learnt():
    y = 55.0 + remembering(np.random.default_rng(13), 0.5, DAYS) + 4.0 * (np.arange(DAYS) >= 180)
    found = change.fit(y, 1.0, 0.5, EARLIEST, level_sd=np.inf)
    assert (found.shape, found.onset) == ("step", 180)
    assert abs(found.size - 4.0) < 3.0 * found.size_se
    # and a level that is only nearly known makes the size less sure
    sure = change.fit(y - 55.0, 1.0, 0.5, EARLIEST)
    unsure = change.fit(y - 55.0, 1.0, 0.5, EARLIEST, level_sd=2.0)
    assert sure.size_se < unsure.size_se < 1.0


def test_gain_is_that_of_generalised_least_squares():
    """Second way to the same number: the dense covariance of the days observed."""
    rng = np.random.default_rng(14)
    y = remembering(rng, 0.6, DAYS) + 3.0 * (np.arange(DAYS) >= 150)
    y[rng.random(DAYS) < 0.3] = np.nan
    found = change.fit(y, 1.0, 0.6, EARLIEST)
    assert found.shape == "step"
    days = np.flatnonzero(~np.isnan(y))
    inverse = np.linalg.inv(0.6 ** np.abs(days[:, None] - days))
    shape = (days >= found.onset).astype(float)
    gain = 0.5 * (shape @ inverse @ y[days]) ** 2 / (shape @ inverse @ shape)
    assert abs(found.gain - gain) < 1e-8 * gain


def test_a_rise_within_days_is_told_as_a_step():
    days = np.arange(DAYS)
    y = 6.0 * np.clip((days - 149.0) / 2.0, 0.0, 1.0) + 0.1 * np.random.default_rng(18).standard_normal(DAYS)
    assert change.fit(y, 0.5, 0.0, EARLIEST).shape == "step"


def test_shapes_compete_by_their_averaged_likelihoods():
    """Second way to the same number: each step and ramp by its dense normal density, weighted and summed."""
    n, phi, earliest, prior_sd = 30, 0.4, 5, 3.0
    days = np.arange(n)
    y = remembering(np.random.default_rng(19), phi, n) + 8.0 * np.clip((days - 7.0) / 18.0, 0.0, 1.0)
    covariance = phi ** np.abs(days[:, None] - days)
    inverse = np.linalg.inv(covariance)
    null = multivariate_normal(np.zeros(n), covariance).logpdf(y)

    def odds(shape):
        with_move = covariance + prior_sd**2 * np.outer(shape, shape)
        return np.exp(multivariate_normal(np.zeros(n), with_move).logpdf(y) - null)

    onsets = range(earliest, n)
    step = np.mean([odds((days >= onset).astype(float)) for onset in onsets])
    ramps = []  # weight, size and variance of the size
    for onset in onsets:
        for bend in range(onset + 7, n + 1):
            length = bend - onset
            # any order of magnitude from a week to twice the span; whatever ends later still rises
            share = np.log(50.0 / length) if bend == n else np.log(1.0 + 1.0 / length)
            straight = np.clip((days - onset + 1) / length, 0.0, 1.0)
            for curve in (-0.4, 0.0, 0.5, 1.0):  # and a cube, of ramps longer than these
                shape = (1.0 - curve) * straight + curve * straight**2
                precision = shape @ inverse @ shape
                weight = odds(shape) * share / np.log(50.0 / 7.0) / len(onsets) / 4.0
                ramps.append((weight, shape @ inverse @ y / precision, 1.0 / precision))
    weight, size, variance = np.array(ramps).T
    memory = autoregression.memory(y, 1.0, phi)
    on_off = np.exp(switching.fit(memory, memory.innovations(y), 1.0, prior_sd, earliest).evidence)

    found = change.fit(y, 1.0, phi, earliest)
    assert found.shape == "ramp"
    assert abs(found.probability - weight.sum() / (step + weight.sum() + on_off)) < 1e-9
    mean = weight @ size / weight.sum()
    assert abs(found.size - mean) < 1e-9
    assert abs(found.size_se**2 - weight @ (variance + (size - mean) ** 2) / weight.sum()) < 1e-9


def test_innovations_are_independent_whatever_is_missing():
    rng = np.random.default_rng(15)
    series = np.stack([remembering(rng, 0.7, 60) for _ in range(4000)])
    hidden = rng.random(60) < 0.4
    series[:, hidden] = np.nan
    sd = np.linspace(1.0, 3.0, 60)
    memory = autoregression.memory(series[0] * sd, sd, 0.7)
    fresh = memory.innovations((series * sd)[:, memory.days].T)
    covariance = np.cov(fresh)
    assert np.max(np.abs(covariance - np.eye(len(covariance)))) < 0.12


def test_switching_is_the_sum_over_all_paths():
    """Second way to the same number: every one of 2^9 courses of the switch, weighted and added up."""
    n, phi, size_sd = 9, 0.4, 3.0
    y = remembering(np.random.default_rng(16), phi, n) + 3.0 * np.array([0, 0, 1, 1, 0, 0, 1, 0, 1])
    memory = autoregression.memory(y, 1.0, phi)
    found = switching.fit(memory, memory.innovations(y), 1.0, size_sd, earliest=1)

    sizes = np.concatenate([-np.geomspace(0.5, 8, 12)[::-1], np.geomspace(0.5, 8, 12)])
    weights = norm.pdf(sizes / size_sd) * np.abs(sizes)
    weights /= weights.sum()
    total = 0.0
    for path in product((0, 1), repeat=n - 1):
        switch = np.array([0, *path])
        if np.count_nonzero(np.diff(switch) == 1) < 2:  # came on once or never
            continue
        chance = np.mean([probability(switch, on, off) for on in (3, 10, 30) for off in (3, 10, 30)])
        for size, weight in zip(sizes, weights, strict=True):
            total += weight * chance * likelihood(y - size * switch, phi) / likelihood(y, phi)
    assert abs(found.evidence - np.log(total)) < 1e-9


def probability(switch, on, off):
    """Of a course of the switch: its first day on is any day, then spells of these mean lengths."""
    first = int(np.argmax(switch == 1))
    chance = 1.0 / (len(switch) - 1)
    for before, now in zip(switch[first:-1], switch[first + 1 :], strict=True):
        turn = 1.0 / on if before else 1.0 / off
        chance *= turn if now != before else 1.0 - turn
    return chance


def likelihood(x, phi):
    fresh = (x[1:] - phi * x[:-1]) / np.sqrt(1.0 - phi**2)
    return np.exp(-0.5 * (x[0] ** 2 + fresh @ fresh))


def test_no_day_to_look_at_is_refused():
    y = np.append(np.zeros(50), np.full(20, np.nan))
    with pytest.raises(ValueError, match="no observation on or after day 50"):
        change.fit(y, 1.0, 0.5, 50)


@pytest.mark.parametrize("days", range(1, 8))
def test_a_change_of_the_last_days_is_dated_too(days):
    y = np.random.default_rng(3).standard_normal(60)
    y[60 - days :] += 6.0
    found = change.fit(y, 1.0, 0.0, 60 - days)
    assert found.onset >= 60 - days
    assert found.size == pytest.approx(6.0, abs=4.0 * found.size_se)


def test_a_switch_of_any_size_has_a_finite_likelihood():
    """A hundred standard deviations overflow a likelihood that is not scaled by its largest."""
    on = (np.arange(80) % 20 >= 10) & (np.arange(80) > 30)
    y = np.random.default_rng(20).standard_normal(80) + 100.0 * on
    memory = autoregression.memory(y, 1.0, 0.2)
    found = switching.fit(memory, memory.innovations(y), 1.0, 3.0, earliest=20)
    assert np.isfinite([found.evidence, found.gain, found.size_se]).all()
    assert abs(found.size - 100.0) < 3.0
    assert np.argmax(found.onset) == 31


def test_a_constant_costs_the_likelihood_that_it_loses():
    """Beside the densities themselves, on days of which each stands alone, with what is known of the constant."""
    y, sd, known = np.random.default_rng(4).normal(0.6, 1.5, 40), 1.5, 0.2
    series = change._Series.of(y, sd, 0.0, known)

    def likelihood(constant):
        return norm.logpdf(y, constant, sd).sum() + norm.logpdf(constant, 0.0, known)

    best = series.constant(np.ones(40, bool))
    assert all(likelihood(best) > likelihood(best + by) for by in (-0.01, 0.01))
    assert series.cost(0.5) == pytest.approx(likelihood(best) - likelihood(0.5))
    assert change._Series.of(y, sd, 0.0, np.inf).constant(np.zeros(40, bool)) == 0.0  # of no day
