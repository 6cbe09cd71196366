"""The watch keeps its stated run length, and a single odd day never raises an alarm."""

import numpy as np
import pytest

from sevenppb.detect.drift import watch
from sevenppb.detect.settings import DEFAULTS

PAIRS = np.vstack([np.eye(3), -np.eye(3)])  # three directions, each with its reverse


def charts(budget, directions=PAIRS):
    shared = watch.effective_directions(directions)
    return watch.charts_for(budget, shared, DEFAULTS.cusum_reference, DEFAULTS.ewma_weight)


def test_the_stated_run_length_holds():
    """Alarms a year of watched days until the first, over 300 years of independent noise in three residuals.
    CUSUM and EWMA alarm together more often than not, so that the stated budget is kept and not far
    underrun."""
    rng = np.random.default_rng(1)
    budget, years, days = 2.0, 300, 365
    score = rng.standard_normal((days, years, 3)) @ PAIRS.T
    heights = watch.chart_heights(score.reshape(days, -1), charts(budget)).reshape(days, years, -1)
    over = (heights >= 1.0).any(axis=2)
    alarmed = over.any(axis=0)
    exposure = np.where(alarmed, over.argmax(axis=0) + 1, days).sum() / 365.25
    assert budget / 2.0 < alarmed.sum() / exposure < budget * 1.25


def test_a_smaller_budget_asks_for_more():
    often, seldom = charts(1.0), charts(0.1)
    assert seldom.h > often.h
    assert seldom.limit > often.limit


def test_more_directions_ask_for_more():
    assert charts(0.1).h > charts(0.1, PAIRS[[0, 3]]).h


def test_directions_that_are_one_count_as_one():
    alike = np.array([[1.0, 0.0], [1.0, 0.0], [-1.0, 0.0]])
    assert watch.effective_directions(alike) == pytest.approx(2.0)
    assert watch.effective_directions(PAIRS) == pytest.approx(6.0)
    assert watch.effective_directions(np.zeros((0, 3))) == 1.0


@pytest.mark.parametrize("budget", [0.02, 0.1, 1.0])
def test_a_single_odd_day_never_alarms(budget):
    score = np.zeros((60, 1))
    score[30] = 1e6
    assert watch.chart_heights(score, charts(budget)).max() < 1.0


def test_days_that_are_odd_in_turn_cancel():
    score = np.tile([[1e3], [-1e3]], (60, 1))
    assert watch.chart_heights(score, charts(0.1)).max() < 1.0


def test_a_lasting_move_alarms_and_the_other_way_does_not():
    score = np.column_stack([np.full(60, 1.5), np.full(60, -1.5)])
    heights = watch.chart_heights(score, charts(0.1))
    assert heights[:, 0].max() >= 1.0
    assert heights[:, 1].max() < 0.1


def test_heights_know_no_later_day_and_pass_over_days_without_readings():
    score = np.random.default_rng(2).standard_normal((50, 2)) + 0.8
    whole, cut = watch.chart_heights(score, charts(0.1)), watch.chart_heights(score[:30], charts(0.1))
    np.testing.assert_array_equal(whole[:30], cut)
    holes = score.copy()
    holes[20:25] = np.nan
    assert np.isfinite(watch.chart_heights(holes, charts(0.1))[[19, 25, 49]]).all()


def test_scores_are_the_least_squares_scores_of_each_direction():
    """Two correlated residuals, by hand: score = a' R^-1 x / sqrt(a' R^-1 a)."""
    correlation = np.array([[1.0, 0.6], [0.6, 1.0]])
    x, a = np.array([0.7, -1.1]), np.array([2.0, 0.5])
    score, length = watch.scores(x[None, :], a[None, :, None], correlation)
    inverse = np.linalg.inv(correlation)
    assert length[0, 0] == pytest.approx(np.sqrt(a @ inverse @ a))
    assert score[0, 0] == pytest.approx(a @ inverse @ x / np.sqrt(a @ inverse @ a))


def test_scores_of_noise_have_unit_spread_whatever_is_missing():
    rng = np.random.default_rng(3)
    correlation = np.array([[1.0, 0.5, 0.2], [0.5, 1.0, -0.3], [0.2, -0.3, 1.0]])
    noise = rng.multivariate_normal(np.zeros(3), correlation, 20_000)
    noise[rng.random(noise.shape) < 0.3] = np.nan
    moves = np.broadcast_to(np.array([[1.0, -2.0], [0.5, 0.0], [0.0, 1.0]]), (20_000, 3, 2))
    score, length = watch.scores(noise, moves, correlation)
    nothing = np.isnan(noise).all(axis=1)
    assert np.isnan(score[nothing]).all()
    told = score[~nothing]
    assert np.all(told[length[~nothing] == 0] == 0)
    for j in range(2):
        seen = told[length[~nothing][:, j] > 0, j]
        assert abs(seen.mean()) < 0.03
        assert seen.std() == pytest.approx(1.0, abs=0.03)
