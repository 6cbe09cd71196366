"""Trends and change points against hand calculations and two public series."""

import numpy as np
import pytest
import statsmodels.api

from sevenppb.detect.drift import change, trend


@pytest.fixture(scope="module")
def nile():
    return statsmodels.api.datasets.nile.load_pandas().data["volume"].to_numpy(dtype=float)


def test_mann_kendall_by_hand():
    """MannKendallByHand, College of the Holy Cross, Montserrat seminar: 72 pairs up, 18 down, 1 tie; S 54; Z
    2.9058, one-sided p 0.0018."""
    y = [12.9, 14.8, 13.2, 15.7, 13.8, 15.6, 12.9, 11.0, 17.3, 15.9, 19.0, 18.3, 20.1, 21.7]
    found = trend.fit(np.array(y))
    independent = (found.score - 1.0) / np.sqrt(found.variance)
    assert found.score == 54.0
    assert abs(found.variance - 332.6667) < 1e-4
    assert abs(independent - 2.9058) < 1e-4
    assert abs(found.slope - 0.566667) < 1e-6
    # the hand calculation takes the years as independent; their memory makes the verdict less sure
    assert 0.0 < found.z < independent
    assert abs(found.z - independent / np.sqrt(found.inflation)) < 1e-12


@pytest.mark.parametrize(
    ("phi", "factor"),
    [(0.1, 1.205), (0.25, 1.613), (0.5, 2.809), (0.7, 5.073), (0.8, 7.665), (0.9, 14.09), (0.99, 40.5)],
)
def test_hamed_and_rao_factor(phi, factor):
    """Hamed and Rao (1998), Journal of Hydrology 204, 182: the factor of a first-order autoregression of 100
    values, ranks' correlation 6/pi asin(r/2) (evaluated from the formula by an independent code)."""
    lags = np.arange(1, 100)
    assert abs(trend.hamed_rao(6.0 / np.pi * np.arcsin(phi**lags / 2.0), 100) / factor - 1.0) < 1.5e-3


def test_nile_has_a_step_after_1898(nile):
    """Cobb (1978), Biometrika 65, 243, annual flow at Aswan from 1871: a step after 1898, the 28th value; a
    95 % interval of 1895 to 1902 in a published structural-change analysis; means 1097.75 and 849.97 either
    side (recomputed)."""
    found = change.fit(nile, sd=130.0, phi=0.0, earliest=1, level_sd=np.inf)
    assert found.shape == "step"
    assert 1871 + found.onset == 1899
    assert 1895 <= 1870 + found.low <= 1870 + found.high <= 1902
    assert abs(found.size - (849.97 - 1097.75)) < 0.5 * found.size_se
    fall_in_squares = 2_835_157 - 1_597_457
    assert abs(found.gain - fall_in_squares / (2.0 * 130.0**2)) < 0.05


def test_a_step_looks_like_a_trend_to_mann_kendall(nile):
    """Why a shape is asked for too: S -1387, Sen's slope -2.6 a year (recomputed with a general statistics
    library)."""
    found = trend.fit(nile)
    assert found.score == -1387.0
    assert abs(found.slope + 2.6) < 1e-9
    assert found.p < 0.05


def test_carbon_dioxide_rises():
    """Mauna Loa weekly CO2 (Keeling and Whorf; statsmodels data set), annual means of 1959 to 2001: every
    pair up, S 903, Sen's slope 1.3763 ppm a year (recomputed)."""
    weekly = statsmodels.api.datasets.co2.load_pandas().data["co2"]
    annual = weekly.resample("MS").mean().interpolate().loc["1959":].groupby(lambda day: day.year).mean()
    found = trend.fit(annual.to_numpy())
    assert found.score == 903.0 == len(annual) * (len(annual) - 1) / 2
    assert abs(found.slope - 1.3763) < 2e-3
    assert found.low < 1.3763 < found.high
    assert abs((found.score - 1.0) / np.sqrt(found.variance) - 9.440) < 1e-3
    # the rise bends upwards, which a straight line leaves over as memory: less sure than that, and still sure
    assert found.p < 0.05
