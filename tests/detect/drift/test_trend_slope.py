import numpy as np
import pytest
from scipy.signal import lfilter

from sevenppb.detect.drift import trend


def remembering(rng, phi, n, m):
    """m series (n, m) of unit variance in which a day remembers the day before."""
    fresh = rng.standard_normal((n + 60, m)) * np.sqrt(1.0 - phi**2)
    return lfilter([1.0], [1.0, -phi], fresh, axis=0)[60:]


@pytest.mark.parametrize(("phi", "most"), [(0.0, 0.08), (0.5, 0.11), (0.8, 0.15)])
def test_false_alarms_of_series_that_remember(phi, most):
    """At 5 %, 120 days: without the correction about 25 % at 0.5 and 50 % at 0.8."""
    series = remembering(np.random.default_rng(1), phi, 120, 300)
    found = [trend.fit(column) for column in series.T]
    assert np.mean([one.p < 0.05 for one in found]) < most
    if phi > 0:
        plain = [abs(one.score - np.sign(one.score)) / np.sqrt(one.variance) > 1.96 for one in found]
        assert np.mean(plain) > 2.0 * most


def test_slope_interval_covers_the_truth():
    series = remembering(np.random.default_rng(2), 0.5, 150, 200) + 0.02 * np.arange(150)[:, None]
    found = [trend.fit(column) for column in series.T]
    covered = np.mean([one.low <= 0.02 <= one.high for one in found])
    assert 0.80 < covered < 0.97


def test_slope_is_per_row_whatever_is_missing():
    rows = np.arange(60.0)
    y = 3.0 - 0.25 * rows
    y[[0, 5, 6, 7, 30]] = np.nan
    found = trend.fit(y)
    assert abs(found.slope + 0.25) < 1e-12
    assert found.score == -55 * 54 / 2


def test_ties_count_for_neither_side():
    """n 5, one pair tied: Var = (5 4 15 - 2 1 9) / 18 (Kendall 1975, Rank Correlation Methods)."""
    found = trend.fit(np.array([1.0, 2.0, 2.0, 3.0, 4.0]))
    assert found.score == 9.0
    assert abs(found.variance - (5 * 4 * 15 - 2 * 1 * 9) / 18) < 1e-12


def test_a_flat_series_has_no_trend():
    found = trend.fit(np.full(20, 7.0))
    assert (found.slope, found.score, found.z, found.p) == (0.0, 0.0, 0.0, 1.0)


def test_a_season_never_makes_a_trend_surer():
    """Distant lags of a yearly rhythm shrink the published correction; here it only ever widens."""
    rng = np.random.default_rng(4)
    y = np.sin(np.arange(730) / 365.25 * 2.0 * np.pi) + 0.3 * rng.standard_normal(730)
    assert trend.fit(y).inflation > 5.0


def test_too_few_observations_are_refused():
    with pytest.raises(ValueError, match="at least 4 observations, not 3"):
        trend.fit(np.array([1.0, np.nan, 2.0, 3.0]))


def test_four_observations_are_enough():
    assert trend.fit(np.array([1.0, np.nan, 2.0, 3.0, 5.0])).score == 6.0


def test_what_has_no_neighbours_or_never_moves_has_no_memory():
    assert trend.memory_of(np.array([1.0, np.nan, 2.0, np.nan, 3.0])) == 0.0
    assert trend.memory_of(np.full(9, 5.0)) == 0.0
