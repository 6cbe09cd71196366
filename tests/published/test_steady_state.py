"""Steady hours beside a published test of steady state: Cao and Rhinehart 1995, An efficient method for on-line
identification of steady state, Journal of Process Control 5, 363. The scan uses a plainer rule, since what it must
cut are moves that a vessel needs hours to settle from; here is that the two agree where both should speak."""

import numpy as np
import pandas as pd
import pytest
from scipy.signal import lfilter

from sevenppb.detect.quality import steady
from sevenppb.detect.settings import DEFAULTS

WEIGHTS = (0.2, 0.1, 0.1)
CRITICAL = 1.44  # of R at 5 % for these weights (from memory; simulated quantile 1.444)
UNSTEADY = 2.5  # above which a process is surely not steady: common practice, no source


def ratio(x):
    """R of series x [n, m]: twice the variance about a moving mean over the variance of differences, both as
    exponentially weighted means; near 1 where the process is steady."""

    def weighted(values, weight, start):
        state = (1 - weight) * np.broadcast_to(start, (1, x.shape[1]))
        return lfilter([weight], [1, weight - 1], values, axis=0, zi=state)[0]

    mean = weighted(x, WEIGHTS[0], x[0])
    before = np.vstack([x[:1], mean[:-1]])
    step = np.diff(x, axis=0, prepend=x[:1])
    usual = np.var(x[:24], axis=0)
    about = weighted((x - before) ** 2, WEIGHTS[1], usual / (1 - WEIGHTS[0] / 2))
    return (2 - WEIGHTS[0]) * about / weighted(step**2, WEIGHTS[2], 2 * usual)


def test_critical_value_of_independent_noise():
    last = ratio(np.random.default_rng(1995).standard_normal((120, 20_000)))[-1]
    error = np.sqrt(0.05 * 0.95 / last.size)
    assert abs(np.mean(last > 1.444) - 0.05) < 4 * error
    assert abs(np.quantile(last, 0.95) - CRITICAL) < 0.03
    assert abs(last.mean() - 1.039) < 4 * last.std() / np.sqrt(last.size)
    assert np.mean(last > UNSTEADY) < 0.002


@pytest.fixture(scope="module")
def loads():
    """Hourly flows [kg/s], noise of 1 % about 40; a move of 20 to 40 % at a known hour in each, up or down within one
    to three hours."""
    rng = np.random.default_rng(363)
    hours, count = 240, 60
    begin = rng.integers(80, 160, count)
    length = rng.integers(1, 4, count)
    size = rng.uniform(0.2, 0.4, count) * rng.choice([-1, 1], count)
    course = np.clip((np.arange(hours)[:, None] - begin + 1) / length, 0, 1)
    return 40 * (1 + size * course) * (1 + 0.01 * rng.standard_normal((hours, count))), begin, length


def marked(load):
    index = pd.date_range("2026-01-01", periods=len(load), freq="h", tz="UTC")
    hourly = pd.DataFrame(
        {"shell_pressure": 1.2e5, "storage_temperature": 104.0, "inlet_flow": load}, index=index
    )
    return steady.steady_marks(hourly, pd.Series(101_325.0, index=index), DEFAULTS)


def test_hours_cut_for_a_load_move_are_unsteady_by_the_published_test(loads):
    load, begin, length = loads
    r = ratio(load)
    cut = np.column_stack([marked(column)["load move"] for column in load.T])
    soon = np.maximum(r[:-2], np.maximum(r[1:-1], r[2:]))  # R needs an hour or two to see a jump
    assert np.all(soon[cut[:-2]] > UNSTEADY)
    inside = (np.arange(len(load))[:, None] >= begin) & (np.arange(len(load))[:, None] < begin + length)
    assert not cut[~inside].any()
    # a move of clearly more than max_load_move in an hour is cut by both
    quick = np.flatnonzero(
        np.abs(np.diff(load, axis=0)).max(axis=0) > 1.1 * DEFAULTS.max_load_move * load.max(axis=0)
    )
    assert len(quick) > 20
    assert cut[:, quick].any(axis=0).all()
    assert np.all(r[:, quick].max(axis=0) > UNSTEADY)


def test_hours_far_from_a_move_are_steady_by_both(loads):
    load, begin, length = loads
    calm = np.arange(len(load))[:, None] - (begin + length)
    calm = (calm > 72) | ((calm < -24) & (np.arange(len(load))[:, None] > 24))  # R forgets a tenth an hour
    r = ratio(load)
    assert np.mean(r[calm] > CRITICAL) < 0.07  # 5 % stated, hours are correlated
    assert not any(marked(column).to_numpy()[kept].any() for column, kept in zip(load.T, calm.T, strict=True))
