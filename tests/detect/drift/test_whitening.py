"""Innovations of what is only noise and season are white, and equal those of a Kalman filter."""

import numpy as np
import pytest
from scipy.signal import lfilter
from scipy.stats import kstest
from statsmodels.robust.scale import mad

from sevenppb.detect.drift import innovations
from sevenppb.detect.drift.innovations import Noise


def remembering(rng, phi, shape):
    fresh = rng.standard_normal((shape[0] + 100, *shape[1:])) * np.sqrt(1.0 - phi**2)
    return lfilter([1.0], [1.0, -phi], fresh, axis=0)[100:]


def terms(days):
    """A constant, something like load, and the year."""
    rng = np.random.default_rng(9)
    year = 2 * np.pi * np.arange(days) / 365.25
    return np.column_stack([np.ones(days), rng.standard_normal(days), np.cos(year), np.sin(year)])


PRIOR = np.array([np.inf, 0.5, 0.2, 0.2])


def kalman(series, columns, prior, noise, weight):
    """The recursion: coefficients stand still, the noise remembers; one-step errors over their spread."""
    m = columns.shape[1]
    state, cover = np.zeros(m + 1), np.diag(np.append(prior**2, 1.0))
    keep = np.diag(np.append(np.ones(m), noise.phi))
    out = []
    for y, row, w in zip(series, columns, weight, strict=True):
        h = np.append(row, noise.sd * w)
        if not np.isnan(y):
            spread = h @ cover @ h
            out.append((y - h @ state) / np.sqrt(spread))
            gain = cover @ h / spread
            state, cover = state + gain * (y - h @ state), cover - np.outer(gain, h @ cover)
        state, cover = keep @ state, keep @ cover @ keep
        cover[m, m] += 1.0 - noise.phi**2
    return np.array(out)


@pytest.mark.parametrize("phi", [0.0, 0.4, 0.8])
def test_innovations_equal_a_kalman_recursion(phi):
    rng = np.random.default_rng(5)
    days, noise = 150, Noise(0.3, phi)
    columns, weight = terms(days), rng.uniform(0.8, 2.0, days)
    prior = np.array([5.0, 0.5, 0.2, 0.2])
    series = columns @ (prior * rng.standard_normal(4)) + 0.3 * weight * remembering(rng, phi, (days,))
    series[rng.random(days) < 0.2] = np.nan
    white = innovations.whitener(~np.isnan(series), columns, prior, noise, weight)
    np.testing.assert_allclose(
        white(series)[1:], kalman(series, columns, prior, noise, weight)[1:], rtol=1e-6, atol=1e-8
    )


@pytest.mark.parametrize("phi", [0.0, 0.5, 0.85])
def test_noise_and_season_leave_white_innovations(phi):
    """Mean 0, variance 1, normal and without memory, over 200 vessels with coefficients drawn from the prior.
    The tests' levels are one in a thousand."""
    rng = np.random.default_rng(11)
    days, vessels = 200, 200
    columns, noise = terms(days), Noise(0.3, phi)
    present = rng.random(days) > 0.15
    white = innovations.whitener(present, columns, PRIOR, noise, np.ones(days))
    coefficient = np.array([4.0, 0.5, 0.2, 0.2])[:, None] * rng.standard_normal((4, vessels))
    found = white(columns @ coefficient + 0.3 * remembering(rng, phi, (days, vessels)))[2:]
    n = found.size
    assert abs(found.mean()) < 3.3 / np.sqrt(n)
    assert abs(found.var() - 1.0) < 3.3 * np.sqrt(2.0 / n)
    assert kstest(found.ravel(), "norm").pvalue > 1e-3
    for lag in (1, 2, 7):
        assert abs((found[lag:] * found[:-lag]).mean()) < 3.3 / np.sqrt(n)


def test_a_lasting_shift_responds_as_told():
    """Where no coefficient is unknown, the response is what a shift of 1 adds to every innovation."""
    columns = np.zeros((60, 1))
    white = innovations.whitener(np.ones(60, dtype=bool), columns, np.ones(1), Noise(0.5, 0.6), np.ones(60))
    shifted = white(np.ones(60))
    np.testing.assert_allclose(shifted[1:], white.response()[1:], rtol=1e-9)
    # (1 - phi) over the innovation's standard deviation
    assert shifted[5] == pytest.approx(0.4 / (0.5 * np.sqrt(1 - 0.36)))


def test_an_innovation_knows_no_later_day():
    rng = np.random.default_rng(2)
    series, columns = rng.standard_normal(80), terms(80)
    white = innovations.whitener(np.ones(80, dtype=bool), columns, PRIOR, Noise(1.0, 0.3), np.ones(80))
    later = series.copy()
    later[50:] += 100.0
    np.testing.assert_array_equal(white(series)[:50], white(later)[:50])
    np.testing.assert_allclose(white(series, 50), white(series)[:50], rtol=1e-12)


def test_the_rest_is_what_the_terms_do_not_say():
    rng = np.random.default_rng(3)
    days = 200
    columns = terms(days)
    season = columns @ np.array([2.0, 0.4, 0.15, -0.1])
    step = (np.arange(days) >= 150).astype(float)
    series = season + 0.7 * step + 0.05 * rng.standard_normal(days)
    series[40:45] = np.nan
    white = innovations.whitener(~np.isnan(series), columns, PRIOR, Noise(0.05, 0.0), np.ones(days))
    rest = white.rest(series, 0.7 * step, days)
    assert np.isnan(rest[40:45]).all()
    assert np.nanmax(abs(rest - 0.7 * step)) < 0.3
    assert abs(np.nanmean(rest[150:]) - 0.7) < 0.06
    assert np.isnan(white.rest(series, 0.7 * step, 180)[180:]).all()


@pytest.mark.parametrize(("sd", "phi"), [(0.2, 0.0), (1.5, 0.4), (0.05, 0.7)])
def test_noise_is_estimated_from_days_that_the_fit_did_not_see(sd, phi):
    """Without bias over 60 baselines of 180 days; a fit's own residuals would be too small and too white."""
    rng = np.random.default_rng(8)
    days = 180
    columns = terms(days)[:, :2]
    prior = np.array([np.inf, 5.0 * sd])
    found = [
        innovations.estimate_noise(columns @ [3.0, sd] + sd * remembering(rng, phi, (days,)), columns, prior)
        for _ in range(60)
    ]
    assert np.median([noise.sd for noise in found]) == pytest.approx(sd, rel=0.15)
    assert np.median([noise.phi for noise in found]) == pytest.approx(phi, abs=0.12)


def test_odd_days_do_not_inflate_the_noise():
    rng = np.random.default_rng(4)
    series = rng.standard_normal(200)
    series[::20] += 30.0
    found = innovations.estimate_noise(series, np.ones((200, 1)), np.array([np.inf]))
    assert found.sd < 1.8


def test_a_reading_that_never_moves_has_hardly_any_noise():
    found = innovations.estimate_noise(np.full(100, 3.0), np.ones((100, 1)), np.array([np.inf]))
    assert 0 < found.sd < 1e-6
    assert 0 <= found.phi < 1


def test_noise_is_that_of_a_ridge_fitted_anew_without_each_block():
    """Second way to the same numbers: 14 days are left out, the ridge with these priors is fitted to the others."""
    rng = np.random.default_rng(21)
    days, block = 90, 14
    columns, prior = terms(days)[:, :2], np.array([0.3, 0.2])
    series = columns @ [1.0, 0.5] + 0.4 * remembering(rng, 0.5, (days,))
    scale = mad(series) + 1e-9
    smooth = columns * np.minimum(prior, 1e3 * scale)
    for _ in range(2):
        out = np.zeros(days)
        for start in range(0, days, block):
            rows = np.arange(start, min(start + block, days))
            rest = np.delete(smooth, rows, axis=0)
            gram = rest.T @ rest / scale**2 + np.eye(2)
            value = np.linalg.solve(gram, rest.T @ np.delete(series, rows) / scale**2)
            out[rows] = series[rows] - smooth[rows] @ value
        scale = mad(out)
    tame = np.clip(out, -3 * scale, 3 * scale)
    lag = tame[1:] @ tame[:-1] / (tame @ tame)
    # Kendall (1954): an estimate is too small by (1 + 3 phi) / n; then six more days of 0.5
    phi = (days * lag + 1 + 3 * lag + 6 * 0.5) / (days + 6)
    found = innovations.estimate_noise(series, columns, prior, block)
    assert found.sd == pytest.approx(tame.std(), rel=1e-6)
    assert found.phi == pytest.approx(phi, rel=1e-6)
