"""Thresholds carry what a baseline leaves unknown of the noise, so that the stated rate is the one that comes."""

import numpy as np
import pytest
from scipy.special import roots_hermitenorm

from sevenppb.detect.drift import innovations, runlength, watch
from sevenppb.detect.drift.innovations import Noise
from sevenppb.detect.settings import DEFAULTS

RUN_LENGTH = 50_000.0


@pytest.mark.parametrize("spread", [0.05, 0.1, 0.2, 0.3])
def test_the_mean_rate_is_what_the_limit_promises(spread):
    """Against the integral equation, averaged over a standard deviation that is uncertain by so much."""
    nodes, weights = roots_hermitenorm(15)
    scale, weights = np.exp(spread * nodes + 0.5 * spread**2), weights / weights.sum()
    h = runlength.cusum_threshold(0.25, RUN_LENGTH)
    limit = runlength.ewma_limit(0.05, RUN_LENGTH, two_sided=False)
    doubt = np.array([spread**2])
    wide_h = h * runlength.cusum_margin(0.25, h, doubt)[0]
    wide_limit = limit * runlength.ewma_margin(limit, doubt)[0]
    cusum = sum(w / runlength.cusum_arl(0.25 / s, wide_h / s) for w, s in zip(weights, scale, strict=True))
    ewma = sum(
        w / runlength.ewma_arl(0.05, wide_limit / s, 0.0, False) for w, s in zip(weights, scale, strict=True)
    )
    assert cusum * RUN_LENGTH == pytest.approx(1.0, abs=0.05)
    assert ewma * RUN_LENGTH == pytest.approx(1.0, abs=0.25)


def test_known_noise_asks_for_nothing_and_more_doubt_for_more():
    factors = runlength.cusum_margin(0.25, 17.0, np.array([0.0, 0.001, 0.01, 0.1]))
    assert factors[0] == 1.0
    assert np.all(np.diff(factors) > 0)
    assert factors[1] < 1.03


def test_a_score_of_many_residuals_is_less_in_doubt_than_one():
    doubt = np.array([0.02, 0.02, 0.04])
    usual = np.array([[1.0, 0.0, 0.0], [1.0, 1.0, 0.0], [0.0, 0.0, 2.0], [0.0, 0.0, 0.0]])
    np.testing.assert_allclose(watch.score_doubt(usual, np.eye(3), doubt), [0.02, 0.01, 0.04, 0.0])
    alike = np.array([[1.0, 0.9, 0.0], [0.9, 1.0, 0.0], [0.0, 0.0, 1.0]])
    assert 0.01 < watch.score_doubt(usual[1:2], alike, doubt)[0] < 0.02


def test_memory_is_that_of_neighbouring_days_however_many_are_missing():
    rng = np.random.default_rng(9)
    found = []
    for _ in range(40):
        fresh = rng.standard_normal(500) * 0.6
        series = np.empty(500)
        series[0] = fresh[0] / 0.6
        for day in range(1, 500):
            series[day] = 0.8 * series[day - 1] + fresh[day]
        series[rng.random(500) < 0.4] = np.nan
        found.append(innovations.estimate_noise(series, np.ones((500, 1)), np.array([np.inf])))
    assert np.mean([one.phi for one in found]) == pytest.approx(0.8, abs=0.02)


@pytest.mark.parametrize(("days", "phi"), [(120, 0.5), (365, 0.8)])
def test_the_stated_doubt_is_the_spread_of_the_estimates(days, phi):
    rng = np.random.default_rng(10)
    found = []
    for _ in range(200):
        fresh = rng.standard_normal(days) * np.sqrt(1 - phi**2)
        fresh[0] /= np.sqrt(1 - phi**2)
        series = fresh.copy()
        for day in range(1, days):
            series[day] += phi * series[day - 1]
        found.append(innovations.estimate_noise(series, np.ones((days, 1)), np.array([np.inf])))
    long_run = [np.log(one.sd) + 0.5 * np.log((1 + one.phi) / (1 - one.phi)) for one in found]
    assert np.mean([one.doubt for one in found]) == pytest.approx(np.var(long_run), rel=0.3)
    assert np.mean(long_run) == pytest.approx(0.5 * np.log((1 + phi) / (1 - phi)), abs=0.06)


def test_charts_of_doubtful_noise_stand_higher_and_causes_less_so_than_sensors():
    moves = np.broadcast_to(np.array([[1.0, 1.0], [1.0, 0.0]]), (50, 2, 2))
    arguments = (moves, np.eye(2)), (DEFAULTS.false_alarms, DEFAULTS.cusum_reference, DEFAULTS.ewma_weight)
    known, doubtful = (
        watch.charts_of(*arguments[0], [Noise(1.0, 0.5, doubt)] * 2, *arguments[1]) for doubt in (0.0, 0.03)
    )
    assert np.all(doubtful.h > known.h)
    assert doubtful.h[0] < doubtful.h[1]
    assert doubtful.limit[0] < doubtful.limit[1]
