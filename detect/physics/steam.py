"""Water and steam at and near saturation, for arrays.

Saturation temperature and pressure are the closed forms of IAPWS-IF97 (region 4). Enthalpies and densities
are cubic interpolants of the iapws package, built at first use: a full state there costs 0.1 ms a point and
takes no arrays. Largest differences from iapws between the knots, tested: 1e-6 K, 0.2 J/kg on the saturation
line, 80 J/kg in superheated steam, 1e-6 of a density.

Source: IAPWS R7-97(2012), Revised Release on the IAPWS Industrial Formulation 1997. Units: Pa absolute, degC,
J/kg (zero at the triple point's liquid), kg/m3. Valid from 0.7 kPa to 10 MPa (1 to 311 degC); steam to 600
degC. NaN, or a state outside that range, gives NaN. Every function takes anything that broadcasts and gives
an array of that shape."""

from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from scipy.interpolate import CubicSpline, RectBivariateSpline

Array = npt.NDArray[np.float64]

LOWEST_PRESSURE, HIGHEST_PRESSURE = 0.7e3, 10.0e6  # Pa
HIGHEST_TEMPERATURE = 600.0  # degC, of superheated steam
_KELVIN = 273.15
_MPA = 1e-6
_KJ = 1e3

# IF97 Table 34: the coefficients of the saturation-pressure equation and its inverse (eqs. 29 to 31)
_N = (
    0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5, -0.32325550322333e7,
    0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6, -0.23855557567849, 0.65017534844798e3,
)  # fmt: skip


def saturation_temperature(P_pa: npt.ArrayLike) -> Array:
    """Boiling temperature [degC] at absolute pressure [Pa]. IF97 eq. 31."""
    beta = np.sqrt(np.sqrt(_inside(P_pa, LOWEST_PRESSURE, HIGHEST_PRESSURE) * _MPA))
    e = beta * (beta + _N[2]) + _N[5]
    f = beta * (_N[0] * beta + _N[3]) + _N[6]
    g = beta * (_N[1] * beta + _N[4]) + _N[7]
    d = 2.0 * g / (-f - np.sqrt(f * f - 4.0 * e * g))
    s = _N[9] + d
    return np.asarray((s - np.sqrt(s * s - 4.0 * (_N[8] + _N[9] * d))) / 2.0 - _KELVIN)


def saturation_pressure(T_degC: npt.ArrayLike) -> Array:
    """Absolute pressure [Pa] at which water of this temperature [degC] boils. IF97 eq. 30."""
    low, high = _liquid_range()
    kelvin = _inside(T_degC, low, high) + _KELVIN
    theta = kelvin + _N[8] / (kelvin - _N[9])
    a = theta * (theta + _N[0]) + _N[1]
    b = theta * (_N[2] * theta + _N[3]) + _N[4]
    c = theta * (_N[5] * theta + _N[6]) + _N[7]
    root = 2.0 * c / (-b + np.sqrt(b * b - 4.0 * a * c))
    return np.asarray((root * root) ** 2 / _MPA)


def enthalpy_liquid(T_degC: npt.ArrayLike) -> Array:
    """Enthalpy of saturated liquid [J/kg] at a temperature [degC].

    Water under more pressure than saturation holds about 1 kJ/kg more per MPa when cold, nothing more near
    200 degC."""
    return np.asarray(_lines()["h_liquid"](_inside(T_degC, *_liquid_range())))


def enthalpy_vapour(P_pa: npt.ArrayLike) -> Array:
    """Enthalpy of dry saturated steam [J/kg] at absolute pressure [Pa]."""
    return np.asarray(_lines()["h_vapour"](np.log(_inside(P_pa, LOWEST_PRESSURE, HIGHEST_PRESSURE))))


def density_vapour(P_pa: npt.ArrayLike) -> Array:
    """Density of dry saturated steam [kg/m3] at absolute pressure [Pa]."""
    log_pressure = np.log(_inside(P_pa, LOWEST_PRESSURE, HIGHEST_PRESSURE))
    return np.asarray(np.exp(_lines()["log_rho_vapour"](log_pressure)), dtype=np.float64)


def enthalpy_steam(P_pa: npt.ArrayLike, T_degC: npt.ArrayLike) -> Array:
    """Enthalpy of superheated steam [J/kg] at absolute pressure [Pa] and temperature [degC].

    At or below saturation the steam is taken as dry and saturated: two instruments near saturation often
    contradict each other by a kelvin, and wetness can't be read from them.
    """
    pressure = _inside(P_pa, LOWEST_PRESSURE, HIGHEST_PRESSURE)
    temperature = np.asarray(T_degC, dtype=np.float64)
    temperature = np.where(temperature <= HIGHEST_TEMPERATURE, temperature, np.nan)
    boiling = saturation_temperature(pressure)
    above = np.maximum(temperature - boiling, 0.0) / (HIGHEST_TEMPERATURE - boiling)
    return np.asarray(enthalpy_vapour(pressure) + _superheat().ev(np.log(pressure), np.sqrt(above)))


def _inside(values: npt.ArrayLike, low: float, high: float) -> Array:
    array = np.asarray(values, dtype=np.float64)
    return np.where((array >= low) & (array <= high), array, np.nan)


@cache
def _liquid_range() -> tuple[float, float]:
    low, high = saturation_temperature([LOWEST_PRESSURE, HIGHEST_PRESSURE])
    return float(low), float(high)


@cache
def _lines() -> "dict[str, CubicSpline]":
    """The saturation line: liquid over temperature [degC], vapour over ln(pressure [Pa])."""
    from iapws.iapws97 import _Region1, _Region2
    from scipy.interpolate import CubicSpline

    pressure = np.geomspace(LOWEST_PRESSURE, HIGHEST_PRESSURE, 240)
    boiling = saturation_temperature(pressure)
    celsius = np.linspace(*_liquid_range(), 240)
    vapour = [_Region2(float(t) + _KELVIN, float(p) * _MPA) for t, p in zip(boiling, pressure, strict=True)]
    liquid = [
        _Region1(float(t) + _KELVIN, float(p) * _MPA)
        for t, p in zip(celsius, saturation_pressure(celsius), strict=True)
    ]
    log_pressure = np.log(pressure)
    return {
        "h_liquid": CubicSpline(celsius, [state["h"] * _KJ for state in liquid]),
        "h_vapour": CubicSpline(log_pressure, [state["h"] * _KJ for state in vapour]),
        "log_rho_vapour": CubicSpline(log_pressure, [-np.log(state["v"]) for state in vapour]),
    }


@cache
def _superheat() -> "RectBivariateSpline":
    """Enthalpy above dry saturated [J/kg] over ln(pressure [Pa]) and the root of the share of the way from
    saturation to the highest temperature: the root spreads the knots where the enthalpy bends."""
    from iapws.iapws97 import _Region2
    from scipy.interpolate import RectBivariateSpline

    pressure = np.geomspace(LOWEST_PRESSURE, HIGHEST_PRESSURE, 40)
    root = np.linspace(0.0, 1.0, 30)
    boiling = saturation_temperature(pressure)[:, None]
    celsius = boiling + root**2 * (HIGHEST_TEMPERATURE - boiling)
    enthalpy = np.array(
        [
            [_Region2(float(t) + _KELVIN, float(p) * _MPA)["h"] * _KJ for t in row]
            for p, row in zip(pressure, celsius, strict=True)
        ]
    )
    return RectBivariateSpline(np.log(pressure), root, enthalpy - enthalpy[:, :1], s=0)
