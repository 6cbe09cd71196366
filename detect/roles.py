"""The table of roles: what a tag can be, its quantity, the unit used inside, and the range it can have.

Inside sevenppb every column of a role is in the unit named here: SI, with degC for temperature
(as the trade reads it), fractions for valve openings and ppb (ug/kg) for oxygen.
Pressures are absolute except the differential.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

Quantity = Literal["pressure", "difference", "temperature", "flow", "fraction", "oxygen", "level"]


@dataclass(frozen=True)
class Role:
    """One row of the table. `low` and `high` bound what an instrument in service can truly show [unit];
    `accuracy` is a usual standard uncertainty of an installed instrument that slow change hides in
    [unit, or a fraction of the reading where `relative`]: common practice, no source."""

    name: str
    label: str
    quantity: Quantity
    unit: str
    low: float
    high: float
    accuracy: float
    relative: bool = False


_TABLE = (
    Role("shell_pressure", "shell pressure", "pressure", "Pa", 2.0e4, 2.5e6, 700.0),
    Role("storage_temperature", "storage temperature", "temperature", "degC", 5.0, 230.0, 0.12),
    Role("steam_pressure", "steam supply pressure", "pressure", "Pa", 5.0e4, 1.0e7, 3000.0),
    Role("steam_flow", "steam flow", "flow", "kg/s", 0.0, 600.0, 0.01, True),
    Role("steam_temperature", "steam temperature", "temperature", "degC", 60.0, 600.0, 1.0),
    Role("steam_valve", "steam valve opening", "fraction", "1", -0.05, 1.05, 0.01),
    Role("inlet_temperature", "inlet water temperature", "temperature", "degC", 0.0, 220.0, 0.3),
    Role("inlet_flow", "inlet water flow", "flow", "kg/s", 0.0, 1000.0, 0.01, True),
    Role("outlet_flow", "outlet water flow", "flow", "kg/s", 0.0, 1200.0, 0.01, True),
    Role("outlet_oxygen", "outlet oxygen", "oxygen", "ppb", 0.0, 2.0e4, 0.06, True),
    Role("inlet_oxygen", "inlet oxygen", "oxygen", "ppb", 0.0, 2.0e4, 0.05, True),
    Role("vent_temperature", "vent line temperature", "temperature", "degC", -30.0, 230.0, 0.5),
    Role("vent_flow", "vent flow", "flow", "kg/s", 0.0, 50.0, 0.03, True),
    Role("vent_valve", "vent valve opening", "fraction", "1", -0.05, 1.05, 0.01),
    Role("spray_differential", "spray differential", "difference", "Pa", -2.0e3, 1.0e6, 0.02, True),
    Role("level", "storage level", "level", "1", -0.1, 1.3, 0.02),
    Role("drain_flow", "drain flow", "flow", "kg/s", 0.0, 400.0, 0.02, True),
    Role("drain_temperature", "drain temperature", "temperature", "degC", 5.0, 300.0, 0.5),
    Role("makeup_flow", "make-up flow", "flow", "kg/s", 0.0, 1000.0, 0.01, True),
    Role("makeup_temperature", "make-up temperature", "temperature", "degC", 0.0, 150.0, 0.3),
    Role("barometric_pressure", "barometer", "pressure", "Pa", 6.0e4, 1.1e5, 100.0),
    Role("scavenger_flow", "scavenger flow", "flow", "kg/s", 0.0, 10.0, 0.05, True),
)

ROLES: dict[str, Role] = {row.name: row for row in _TABLE}
TRAVEL = (0.0, 1.0)  # of a valve, whose quantity is a fraction: shut, fully open
REQUIRED = ("shell_pressure", "storage_temperature")


def possible(role: str, value: npt.ArrayLike) -> npt.NDArray[np.float64]:
    """What is expected of readings [role's unit]: no valve opens beyond its travel, whatever the load would ask for."""
    read = np.asarray(value, dtype=np.float64)
    return np.clip(read, *TRAVEL) if ROLES[role].quantity == "fraction" else read
