"""Thresholds are raised where the baseline's own days contradict theory, else not."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.signal import lfilter

from sevenppb.detect.drift import bootstrap, watch

CHARTS = watch.charts_for(0.1, 6.0, 0.25, 0.05)


def test_independent_days_ask_for_no_more():
    score = np.random.default_rng(4).standard_normal((365, 6))
    assert watch.checked(CHARTS, score, 0.1) < 1.1


def test_days_that_remember_ask_for_more_and_a_level_alone_does_not():
    fresh = np.random.default_rng(5).standard_normal((365, 6))
    remembered = lfilter([np.sqrt(1 - 0.36)], [1.0, -0.6], fresh, axis=0)
    assert watch.checked(CHARTS, remembered, 0.1) > 1.4
    assert abs(watch.checked(CHARTS, fresh + 3.0, 0.1) - watch.checked(CHARTS, fresh, 0.1)) < 1e-9


def test_a_rarer_alarm_asks_for_more():
    score = 1.3 * np.random.default_rng(6).standard_normal((365, 6))
    assert watch.checked(CHARTS, score, 0.02) > watch.checked(CHARTS, score, 0.1) > 1.0


def test_too_few_days_say_nothing_and_missing_ones_are_borne():
    score = 3.0 * np.random.default_rng(7).standard_normal((200, 2))
    assert watch.checked(CHARTS, score[:20], 0.1) == 1.0
    score[::3] = np.nan
    assert watch.checked(CHARTS, score, 0.1) > 1.5


def test_raised_charts_are_as_much_higher_on_both():
    score = np.random.default_rng(8).standard_normal((300, 4)) + 0.2
    plain, high = (watch.chart_heights(score, charts) for charts in (CHARTS, CHARTS.raised(1.25)))
    np.testing.assert_allclose(plain, 1.25 * high)


def test_one_wild_day_asks_for_no_more():
    """Most of all not of the charts that look the other way."""
    score = np.random.default_rng(4).standard_normal((365, 6))
    score[0] = -1e5
    assert watch.checked(CHARTS, score, 0.1) < 1.1


def test_thresholds_may_differ_by_direction():
    score = 1.3 * np.random.default_rng(10).standard_normal((365, 2))
    one = watch.checked(CHARTS, score, 0.1)
    apart = replace(CHARTS, h=CHARTS.h * np.array([1.0, 9.0]), limit=CHARTS.limit * np.array([1.0, 9.0]))
    assert watch.checked(apart, score, 0.1) == pytest.approx(watch.checked(CHARTS, score[:, :1], 0.1))
    assert watch.checked(apart, score, 0.1) <= one


def test_either_chart_alone_may_ask_for_more():
    """Heights are counted in thresholds: of a chart with twice the threshold, half as many."""
    score = 1.5 * np.random.default_rng(9).standard_normal((300, 2))
    never = 1e9
    for low, high in (
        (((0.25, 5.0), (0.05, never)), ((0.25, 10.0), (0.05, never))),
        (((0.25, never), (0.05, 0.5)), ((0.25, never), (0.05, 1.0))),
    ):
        asked = bootstrap.needed(score, *low, 0.1, watch.MOST_A_DAY)
        assert asked > 1.0
        assert asked == pytest.approx(2.0 * bootstrap.needed(score, *high, 0.1, watch.MOST_A_DAY))
