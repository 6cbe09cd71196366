"""The plant's closures: how water is sprayed and falls, how steam passes a valve and a vent.

Plain functions of arrays (vessels,) that the time loop calls each step. None is taken from a standard except
the nozzle; the others are simple laws of the right shape whose coefficients differ from vessel to vessel.
"""

import numpy as np

from sevenppb.synthetic.steam import Array
from sevenppb.synthetic.vessel import CRITICAL_FACTOR, Sizes

SPRAY_CELLS, TRAY_CELLS = 2, 4
VENT_EXPONENT = 1.135  # isentropic exponent of wet saturated steam (computed from IF97: 1.13 to 1.14)
VENT_CHOKES = (2 / (VENT_EXPONENT + 1)) ** (VENT_EXPONENT / (VENT_EXPONENT - 1))  # pressure ratio
TRAY_HEAT_EXPONENT = 0.7  # broken trays lose less heating than scrubbing: falling water still meets the steam
LEAST_LOAD = 0.02  # below which transfer no longer depends on flow
LEAST_DROP = 0.004  # of pressure over the steam valve, as a share of the supply pressure


def vent_flow(area: Array, flux: Array, pressure: Array, barometer: Array) -> Array:
    """Flow through an isentropic nozzle [kg/s], choked or not; `area` [m²] is effective, `flux` is
    sqrt(2 P rho) of the steam before it."""
    ratio = np.log(np.maximum(barometer / pressure, VENT_CHOKES))
    opened = np.exp(2 / VENT_EXPONENT * ratio) - np.exp((1 + 1 / VENT_EXPONENT) * ratio)
    gain = VENT_EXPONENT / (VENT_EXPONENT - 1)
    return np.asarray(area * flux * np.sqrt(np.maximum(opened, 0) * gain))


def valve_flow(capacity: Array, header: Array, root: Array, pressure: Array) -> tuple[Array, Array]:
    """Steam through the valve wide open [kg/s], and its change with shell pressure [kg/s Pa]: the flow grows
    with the drop over supply pressure until that is critical. `root` is sqrt(P rho) of the supply."""
    drop = np.minimum(np.maximum(1 - pressure / header, LEAST_DROP), CRITICAL_FACTOR)
    expansion = 1 - drop / (3 * CRITICAL_FACTOR)
    full = capacity * root * expansion * np.sqrt(drop)
    slope = full / header * (1 / (3 * CRITICAL_FACTOR * expansion) - 0.5 / drop)
    return full, np.where(drop < CRITICAL_FACTOR, slope, 0.0)


def spray_differential(crack: Array, rise: Array, exponent: Array, ln_flow: Array) -> Array:
    """Differential over the spray valves [Pa] at ln(flow over rated flow and over the open share of area)."""
    return np.asarray(crack + rise * np.exp(exponent * ln_flow))


def gaps_kept(
    z: Sizes,
    inlet: Array,
    steam_flow: Array,
    ln_area: Array,
    spring: Array,
    cover: Array,
    trays: Array,
    flood_load: Array,
) -> tuple[Array, Array]:
    """What share of its gap to the steam the water keeps in a spray cell and in a tray cell, each an array
    (heat, oxygen, nitrogen; vessels): exp(-transfer units of the cell).

    Finer drops transfer more; what scale leaves open sprays unevenly (`cover`); trays transfer a little more
    at low load and with more steam, and hold up water above their flooding load."""
    rated = z["rated"]
    load = np.log(np.maximum(inlet / rated, LEAST_LOAD))
    differential = spray_differential(
        z["spray_crack"] * spring, z["spray_rise"], z["spray_exponent"], load - ln_area
    )
    drops = np.exp(z["spray_drop"] * np.log(differential / (z["spray_crack"] + z["spray_rise"])))
    steam_share = np.log(np.maximum(steam_flow / (0.1 * rated), LEAST_LOAD)) - load
    held_up = z["flood_steep"] * np.maximum(inlet / (rated * flood_load) - 1, 0)
    sprays = z["spray_units"] / SPRAY_CELLS * cover * drops
    falls = z["tray_units"] / TRAY_CELLS
    falls = falls * np.exp(z["tray_steam"] * steam_share - z["tray_flow"] * load - held_up)
    units = np.empty((4, len(rated)))
    units[0] = sprays
    units[1] = sprays * z["spray_oxygen"]
    units[2] = falls * trays**TRAY_HEAT_EXPONENT
    units[3] = falls * trays * z["tray_oxygen"]
    keep = np.exp(-units)
    return keep[[0, 1, 1]], keep[[2, 3, 3]]


def fall(
    water: Array,
    top: Array,
    below: Array,
    steam_side: tuple[Array, Array, Array],
    in_sprays: Array,
    in_trays: Array,
) -> tuple[Array, Array]:
    """Water [kJ/kg, ug/kg O2, ug/kg N2; vessels] through the spray cells, then the tray cells.

    `top` and `below` (a cell each) are mole fractions of O2 and N2 in the steam over the sprays and at the
    trays; `steam_side` is liquid enthalpy, its derivative to ln P, and what is dissolved in balance with a
    mole fraction of one. Gives the water that leaves and the O2 and N2 [ug/kg] that each tray cell frees."""
    h_liquid, h_slope, phi = steam_side
    target = np.empty_like(water)
    target[0] = h_liquid + h_slope * np.log1p(-(top[0] + top[1]))
    target[1:] = top * phi
    for _ in range(SPRAY_CELLS):
        water = target + (water - target) * in_sprays
    freed = np.empty_like(below)
    for cell, gas in enumerate(below):
        target[0] = h_liquid + h_slope * np.log1p(-(gas[0] + gas[1]))
        target[1:] = gas * phi
        after = target + (water - target) * in_trays
        freed[cell] = water[1:] - after[1:]
        water = after
    return water, freed
