"""Interpolants beside iapws between their knots, at the edges, and with nothing to work on."""

import subprocess
import sys

import numpy as np
import pytest
from iapws.iapws97 import _PSat_T, _Region1, _Region2, _TSat_P

from sevenppb.detect.physics import steam


@pytest.fixture(scope="module")
def states():
    """Pressures [Pa], boiling temperatures [degC], and iapws's saturated liquid and vapour there."""
    rng = np.random.default_rng(7)
    pressure = np.exp(rng.uniform(np.log(steam.LOWEST_PRESSURE), np.log(steam.HIGHEST_PRESSURE), 300))
    kelvin = np.array([_TSat_P(p / 1e6) for p in pressure])
    liquid = [_Region1(t, p / 1e6) for t, p in zip(kelvin, pressure, strict=True)]
    vapour = [_Region2(t, p / 1e6) for t, p in zip(kelvin, pressure, strict=True)]
    return pressure, kelvin - 273.15, liquid, vapour


def column(states, name):
    return np.array([state[name] for state in states])


def test_saturation_line(states):
    pressure, celsius, _, _ = states
    np.testing.assert_allclose(steam.saturation_temperature(pressure), celsius, rtol=0, atol=1e-6)
    by_iapws = [_PSat_T(t + 273.15) * 1e6 for t in celsius]
    np.testing.assert_allclose(steam.saturation_pressure(celsius), by_iapws, rtol=1e-9)


def test_enthalpy_and_density_on_the_saturation_line(states):
    pressure, celsius, liquid, vapour = states
    np.testing.assert_allclose(steam.enthalpy_liquid(celsius), column(liquid, "h") * 1e3, rtol=0, atol=0.2)
    np.testing.assert_allclose(steam.enthalpy_vapour(pressure), column(vapour, "h") * 1e3, rtol=0, atol=0.2)
    np.testing.assert_allclose(steam.density_vapour(pressure), 1.0 / column(vapour, "v"), rtol=1e-6)


def test_superheated_steam(states):
    pressure, celsius, _, _ = states
    share = np.random.default_rng(8).uniform(0.0, 1.0, pressure.size) ** 2  # denser near saturation
    hotter = celsius + share * (steam.HIGHEST_TEMPERATURE - celsius)
    by_iapws = [_Region2(t + 273.15, p / 1e6)["h"] * 1e3 for t, p in zip(hotter, pressure, strict=True)]
    np.testing.assert_allclose(steam.enthalpy_steam(pressure, hotter), by_iapws, rtol=0, atol=80.0)


def test_steam_at_or_below_saturation_counts_as_dry():
    assert float(steam.enthalpy_steam(2e5, 110.0)) == float(steam.enthalpy_vapour(2e5))


def test_there_and_back():
    pressure = np.geomspace(1e3, 9.9e6, 50)
    np.testing.assert_allclose(
        steam.saturation_pressure(steam.saturation_temperature(pressure)), pressure, rtol=1e-9
    )


FUNCTIONS = [
    (steam.saturation_temperature, (2e5,)),
    (steam.saturation_pressure, (120.0,)),
    (steam.enthalpy_liquid, (120.0,)),
    (steam.enthalpy_vapour, (2e5,)),
    (steam.density_vapour, (2e5,)),
    (steam.enthalpy_steam, (2e5, 180.0)),
]


@pytest.mark.parametrize(("function", "point"), FUNCTIONS, ids=lambda value: getattr(value, "__name__", ""))
def test_arrays_equal_scalars_and_nothing_gives_nothing(function, point):
    alone = float(function(*point))
    assert np.isfinite(alone)
    grid = function(*(np.array([[value, np.nan], [-5.0, value]]) for value in point))
    assert grid.shape == (2, 2)
    assert grid[0, 0] == grid[1, 1] == alone
    assert np.isnan(grid[0, 1])
    assert np.isnan(grid[1, 0])
    assert np.isnan(function(*(np.full(1, 5e7) for _ in point)))[0]  # far beyond the range
    assert np.all(np.isfinite(function(*(np.zeros(0) for _ in point))))  # no rows, no complaint


def test_edges_are_inside():
    for pressure in (steam.LOWEST_PRESSURE, steam.HIGHEST_PRESSURE):
        boiling = steam.saturation_temperature(pressure)
        assert np.isfinite(steam.enthalpy_liquid(boiling))
        assert np.isfinite(steam.enthalpy_steam(pressure, steam.HIGHEST_TEMPERATURE))
    assert np.isnan(steam.saturation_temperature(steam.LOWEST_PRESSURE * 0.999))
    assert np.isnan(steam.enthalpy_steam(2e5, steam.HIGHEST_TEMPERATURE + 0.1))


def test_importing_loads_no_steam_package():
    code = "import sys, sevenppb.detect.physics.steam; sys.exit('iapws' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
