"""Water, steam and dissolved air for the made-up plants: polynomials drawn once from the iapws package.

Everything is along the saturation line between 0.4 and 17 bar absolute or, for liquid water, between
1 and 200 °C; superheated steam is corrected with a constant heat capacity. Units: Pa, °C, kJ/kg, kg/m³.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from iapws import IAPWS97
from iapws._iapws import _Henry
from numpy.polynomial import Polynomial
from numpy.typing import NDArray

Array = NDArray[np.float64]

LOWEST, HIGHEST = 0.4e5, 1.7e6  # [Pa], the range of the polynomials in pressure
MOLAR_WATER, MOLAR_OXYGEN, MOLAR_NITROGEN = 18.015, 31.999, 28.013  # [kg/kmol]
OXYGEN_IN_AIR = 0.20946  # mole fraction of dry air
SUPERHEAT_CAPACITY = 2.15  # [kJ/kg K] of steam at 2 to 20 bar, little above saturation


@dataclass(frozen=True)
class Steam:
    """Polynomials in ln(P / 1 bar) unless said otherwise.

    `loop` holds what the time loop needs each step, a row a property, highest power first, to be run through
    Horner's rule together: liquid enthalpy, its derivative to ln P, vapour enthalpy, sqrt(2 P rho) of vapour,
    and the dissolved O2 and N2 [ug/kg] in balance with a mole fraction of one.
    """

    loop: Array
    saturation: Polynomial  # °C
    liquid: Polynomial  # kJ/kg
    vapour: Polynomial  # kJ/kg
    ln_density: Polynomial  # ln(kg/m³) of saturated vapour
    enthalpy: Polynomial  # kJ/kg of liquid water from °C
    temperature: Polynomial  # °C of liquid water from kJ/kg
    ln_vapour_pressure: Polynomial  # ln(Pa) from °C
    oxygen_solubility: Polynomial  # ln(ug/kg per Pa of oxygen) from °C, up to 120 °C


def _fit(x: Array, y: Array, degree: int) -> Polynomial:
    return Polynomial.fit(x, y, degree).convert()


@lru_cache(maxsize=1)
def steam() -> Steam:
    """The polynomials; within 2 mK, 0.02 kJ/kg and 0.01 % of iapws over their range."""
    lowest, highest = np.log(LOWEST / 1e5), np.log(HIGHEST / 1e5)
    # Chebyshev points, so that the polynomials are as good at the ends as in the middle
    nodes = np.cos(np.pi * (np.arange(60) + 0.5) / 60)
    ln_bar = lowest + (highest - lowest) * (nodes + 1) / 2
    liquid = [IAPWS97(P=float(np.exp(v)) / 10, x=0) for v in ln_bar]
    vapour = [IAPWS97(P=float(np.exp(v)) / 10, x=1) for v in ln_bar]
    kelvin = np.array([s.T for s in liquid])
    pascal = np.exp(ln_bar) * 1e5
    density = np.array([s.rho for s in vapour])

    def in_balance(gas: str, molar: float) -> Array:
        henry = np.array([_Henry(t, gas) for t in kelvin]) * 1e6
        return np.asarray(1e9 * molar / MOLAR_WATER * pascal / henry)

    saturated = _fit(ln_bar, np.array([s.h for s in liquid]), 8)
    steamy = _fit(ln_bar, np.array([s.h for s in vapour]), 8)
    rows = (
        saturated,
        saturated.deriv(),
        steamy,
        _fit(ln_bar, np.sqrt(2 * pascal * density), 8),
        _fit(ln_bar, in_balance("O2", MOLAR_OXYGEN), 8),
        _fit(ln_bar, in_balance("N2", MOLAR_NITROGEN), 8),
    )
    loop = np.zeros((9, len(rows), 1))
    for row, polynomial in enumerate(rows):
        loop[8 - np.arange(len(polynomial.coef)), row, 0] = polynomial.coef

    celsius = 100.5 + 99.5 * nodes
    water = [IAPWS97(T=float(t) + 273.15, x=0) for t in celsius]
    heat = np.array([s.h for s in water])
    cool = celsius[celsius < 120]
    soluble = np.array([1e9 * MOLAR_OXYGEN / MOLAR_WATER / (_Henry(t + 273.15, "O2") * 1e6) for t in cool])
    return Steam(
        loop=loop,
        saturation=_fit(ln_bar, kelvin - 273.15, 8),
        liquid=saturated,
        vapour=steamy,
        ln_density=_fit(ln_bar, np.log(density), 8),
        enthalpy=_fit(celsius, heat, 7),
        temperature=_fit(heat, celsius, 7),
        ln_vapour_pressure=_fit(celsius, np.log(np.array([s.P for s in water]) * 1e6), 9),
        oxygen_solubility=_fit(cool, np.log(soluble), 6),
    )


def ln_bar(pressure: Array) -> Array:
    """ln(P / 1 bar) of absolute pressure [Pa]."""
    return np.asarray(np.log(pressure * 1e-5))


def air_saturated_oxygen(temperature: Array, barometer: Array) -> Array:
    """Dissolved oxygen [ug/kg] of water [°C] in balance with moist air at `barometer` [Pa]."""
    s = steam()
    dry = np.maximum(barometer - np.exp(s.ln_vapour_pressure(temperature)), 0.0)
    return np.asarray(np.exp(s.oxygen_solubility(temperature)) * OXYGEN_IN_AIR * dry)
