"""Oxygen between water and steam: Henry's law, the vent's gas balance, stripping by transfer units.

Concentrations are ppb (ug of O2 per kg of water), pressures Pa absolute, temperatures degC. NaN gives NaN.
Sources: IAPWS G7-04 (2004), Guideline on the Henry's Constant and Vapor-Liquid Distribution Constant for
Gases in H2O and D2O at High Temperatures (by the iapws package); Dalton's and Henry's laws."""

from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from sevenppb.detect.physics import steam

if TYPE_CHECKING:
    from scipy.interpolate import CubicSpline

Array = npt.NDArray[np.float64]

MOLAR_OXYGEN, MOLAR_WATER = 31.9988, 18.015268  # g/mol; IUPAC standard atomic weights
OXYGEN_IN_AIR, NITROGEN_IN_AIR = (
    0.20946,
    0.78084,
)  # mole fractions, dry; US Standard Atmosphere 1976 to 4 digits
CONDENSATE_OXYGEN = 0.03  # of what air-saturated water holds; common practice, no source
_PPB_PER_MOLE_FRACTION = 1e9 * MOLAR_OXYGEN / MOLAR_WATER
_LOWEST, _HIGHEST = (
    2.0,
    300.0,
)  # degC; G7-04 is fitted to 1.0 to 343.4 degC for oxygen, from 4.97 for nitrogen
_LOWEST_NITROGEN = 5.0


def henry(T_degC: npt.ArrayLike) -> Array:
    """Henry's constant of oxygen in water [Pa per mole fraction] at a temperature of 2 to 300 degC; else
    NaN."""
    return _henry("O2", _LOWEST, T_degC)


def equilibrium_oxygen(p_o2_pa: npt.ArrayLike, T_degC: npt.ArrayLike) -> Array:
    """Oxygen [ppb] that water at a temperature [degC] holds under a partial pressure of oxygen [Pa]."""
    return np.asarray(np.asarray(p_o2_pa, dtype=np.float64) / henry(T_degC) * _PPB_PER_MOLE_FRACTION)


def moles(water_kg_s: npt.ArrayLike, oxygen_ppb: npt.ArrayLike) -> Array:
    """Oxygen [mol/s] that a water flow [kg/s] of this content [ppb] brings."""
    return np.asarray(
        np.asarray(water_kg_s, dtype=np.float64)
        * np.asarray(oxygen_ppb, dtype=np.float64)
        * (1e-6 / MOLAR_OXYGEN)
    )


def brought_by_makeup(share: npt.ArrayLike, usual: npt.ArrayLike) -> Array:
    """Oxygen in water that is make-up to this share [1], relative to that at the usual share [1]; 1 where either is
    NaN. Make-up comes saturated with air, the rest with CONDENSATE_OXYGEN of that."""
    brought = CONDENSATE_OXYGEN + np.asarray(share, dtype=np.float64)
    relative = brought / (CONDENSATE_OXYGEN + np.asarray(usual, dtype=np.float64))
    return np.where(np.isnan(relative), 1.0, relative)


def gas_per_oxygen(T_degC: npt.ArrayLike) -> Array:
    """Moles of oxygen and nitrogen together, per mole of oxygen, in water that took up air at this
    temperature [degC]: about 2.9 when cold. What oxygen comes in, nitrogen comes with it. 5 to 300 degC; else
    NaN."""
    nitrogen = NITROGEN_IN_AIR / OXYGEN_IN_AIR * henry(T_degC) / _henry("N2", _LOWEST_NITROGEN, T_degC)
    return np.asarray(1.0 + nitrogen)


def gas_pressure(P_pa: npt.ArrayLike, gas_mol_s: npt.ArrayLike, steam_kg_s: npt.ArrayLike) -> Array:
    """Partial pressure of gas [Pa] in a well-mixed shell of pressure P [Pa] whose vent carries off a gas flow
    [mol/s] with a steam flow [kg/s]. With no steam at all it is the whole pressure; with neither, NaN."""
    gas = np.asarray(gas_mol_s, dtype=np.float64)
    moles = gas + np.asarray(steam_kg_s, dtype=np.float64) * 1e3 / MOLAR_WATER
    share = np.divide(gas, moles, out=np.full(moles.shape, np.nan), where=moles > 0)
    return np.asarray(share * np.asarray(P_pa, dtype=np.float64))


def depressed_saturation(P_pa: npt.ArrayLike, p_gas_pa: npt.ArrayLike) -> Array:
    """Temperature [degC] at which water boils in a shell of total pressure P [Pa], of which p_gas [Pa] is
    gas: steam has only the rest to itself (Dalton)."""
    return steam.saturation_temperature(
        np.asarray(P_pa, dtype=np.float64) - np.asarray(p_gas_pa, dtype=np.float64)
    )


def stripped(inlet: npt.ArrayLike, equilibrium: npt.ArrayLike, transfer_units: npt.ArrayLike) -> Array:
    """What is left [ppb] after a stage of so many transfer units in the water, gas side at equilibrium [ppb]:
    each unit closes 63 % of the distance. Steam far in excess of gas, as in any vented deaerator."""
    floor = np.asarray(equilibrium, dtype=np.float64)
    distance = np.asarray(inlet, dtype=np.float64) - floor
    return np.asarray(floor + distance * np.exp(-np.asarray(transfer_units, dtype=np.float64)))


def transfer_units(inlet: npt.ArrayLike, outlet: npt.ArrayLike, equilibrium: npt.ArrayLike) -> Array:
    """Transfer units that turn an inlet into an outlet content [ppb] over an equilibrium [ppb]; NaN where the
    outlet lies at or below equilibrium, or the inlet does: no number of units does that."""
    floor = np.asarray(equilibrium, dtype=np.float64)
    before = np.asarray(inlet, dtype=np.float64) - floor
    after = np.asarray(outlet, dtype=np.float64) - floor
    ratio = np.divide(
        before,
        after,
        out=np.full(np.broadcast(before, after).shape, np.nan),
        where=(before > 0) & (after > 0),
    )
    return np.asarray(np.log(ratio), dtype=np.float64)


def _henry(gas: str, low: float, T_degC: npt.ArrayLike) -> Array:
    array = np.asarray(T_degC, dtype=np.float64)
    fitted = np.where((array >= low) & (array <= _HIGHEST), array, np.nan)
    return np.asarray(np.exp(_log_henry(gas, low)(fitted)), dtype=np.float64)


@cache
def _log_henry(gas: str, low: float) -> "CubicSpline":
    from iapws._iapws import _Henry
    from scipy.interpolate import CubicSpline

    celsius = np.linspace(low, _HIGHEST, 200)
    return CubicSpline(celsius, [np.log(_Henry(float(t) + 273.15, gas) * 1e6) for t in celsius])
