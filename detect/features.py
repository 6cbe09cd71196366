"""Readings → physics features, and the table of the watched ones.

A watched feature is compared with its expected value; it is tested on the scale (`linear` or `log`) on which a
fault's effect is the same at every level. The other features are shown, not tested: they are conditions.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
import pandas as pd

from sevenppb.detect import shown
from sevenppb.detect.fleet import Vessel
from sevenppb.detect.physics import steam


@dataclass(frozen=True)
class Watched:
    """A row of the table of watched features.

    name      also the field of balance.model.Expected that predicts it; a name that ends in `_swing` is the other
              feature's (test scale) rise within a day over the vessel's usual daily swing of load
    role      the role whose reading it rests on, besides shell_pressure
    label     in words
    unit      of the natural scale, in evidence and reports
    scale     the scale it is tested on; on `log` a move of 0.1 is 10 %
    floor     readings below are noise, not signal, and count as this [unit]
    tolerance a slow move that usual instruments make without meaning [test scale]: common practice, no source
    natural   a move that matters to the vessel [test scale]: common practice, no source
    """

    name: str
    role: str
    label: str
    unit: str
    scale: Literal["linear", "log"]
    floor: float
    tolerance: float
    natural: float


_TABLE = (
    Watched("subcooling", "storage_temperature", "subcooling", "K", "linear", -np.inf, 0.10, 0.5),
    Watched("steam_flow", "steam_flow", "steam flow", "kg/s", "log", 1e-3, 0.01, 0.04),
    Watched("steam_valve", "steam_valve", "steam valve opening", "1", "linear", -np.inf, 0.01, 0.05),
    Watched("outlet_flow", "outlet_flow", "outlet flow", "kg/s", "log", 1e-2, 0.01, 0.03),
    Watched("outlet_oxygen", "outlet_oxygen", "outlet oxygen", "ppb", "log", 0.3, 0.08, 0.4),
    Watched("inlet_oxygen", "inlet_oxygen", "inlet oxygen", "ppb", "log", 5.0, 0.06, 0.3),
    Watched(
        "vent_temperature", "vent_temperature", "vent line temperature", "degC", "linear", -np.inf, 0.5, 3.0
    ),
    Watched("vent_flow", "vent_flow", "vent flow", "kg/s", "log", 1e-5, 0.04, 0.3),
    Watched("supply_pressure", "steam_pressure", "supply pressure", "Pa", "log", 1e4, 0.03, 0.1),
    Watched(
        "subcooling_swing",
        "storage_temperature",
        "subcooling's rise with load",
        "K",
        "linear",
        -np.inf,
        0.05,
        0.2,
    ),
    Watched(
        "outlet_oxygen_swing",
        "outlet_oxygen",
        "outlet oxygen's rise with load",
        "1",
        "linear",
        -np.inf,
        0.04,
        0.2,
    ),
    Watched("spray_differential", "spray_differential", "spray differential", "Pa", "log", 200.0, 0.025, 0.2),
)
SWING = "_swing"
OFTEN = 0.02  # of a reading's hours, above which a value is one of its steps and no chance
WATCHED: dict[str, Watched] = {row.name: row for row in _TABLE}


def barometer_of(hourly: pd.DataFrame, vessel: Vessel) -> pd.Series:
    """Barometer per hour [Pa]: the tag where it reads, else the fleet file's value."""
    if "barometric_pressure" in hourly:
        return hourly["barometric_pressure"].fillna(vessel.barometer)
    return pd.Series(vessel.barometer, index=hourly.index)


def observed(hourly: pd.DataFrame, barometer: pd.Series, vessel: Vessel) -> pd.DataFrame:
    """Features per hour on their natural scale: the watched ones whose role is recorded, and the shown ones
    that the recorded roles allow.

    Every pressure is absolute [Pa]. NaN in, NaN out.
    """
    pressure = hourly["shell_pressure"].to_numpy()
    columns: dict[str, np.ndarray] = {}
    for feature in WATCHED.values():
        if feature.role in hourly and not feature.name.endswith(SWING):
            columns[feature.name] = hourly[feature.role].to_numpy()
    columns["subcooling"] = steam.saturation_temperature(pressure) - hourly["storage_temperature"].to_numpy()
    features = pd.DataFrame(columns, index=hourly.index)
    return features.join(shown.shown(hourly, barometer, vessel))


def coarseness(feature: Watched, values: np.ndarray) -> float:
    """How far a reading's mean may be off for the step in which it is stored [test scale], from its values by hour [n]
    on the natural scale: half a step at its usual value where it stands, and less the more it moves from hour to hour
    beyond what rounding does (a twelfth of a step's square, Sheppard), which spreads it over the step (Widrow and
    Kollár, Quantization Noise, 2008, from memory). One that stands most of the time does not show its step: that may be
    its natural move."""
    known = values[~np.isnan(values)]
    levels, count = np.unique(known, return_counts=True)
    usual = levels[count > OFTEN * len(known)]
    if len(usual) < 2:
        return feature.natural if len(usual) and 2 * count.max() > len(known) else 0.0
    step = np.diff(usual).min()
    restless = np.mean(np.diff(known) ** 2) / 2.0 / step**2 - 1.0 / 12.0
    at, half_a_step_up = to_test(feature, np.median(known) + np.array([0.0, step / 2.0]))
    return float((half_a_step_up - at) * np.exp(-2.0 * np.pi**2 * max(restless, 0.0)))


def to_test(feature: Watched, values: np.ndarray) -> np.ndarray:
    """Natural scale → test scale."""
    if feature.scale == "log":
        return np.asarray(np.log(np.maximum(values, feature.floor)))
    return np.asarray(values, dtype=float)


def to_natural(feature: Watched, values: np.ndarray) -> np.ndarray:
    """Test scale → natural scale."""
    return np.asarray(np.exp(values) if feature.scale == "log" else values, dtype=float)
