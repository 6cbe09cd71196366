"""Hourly readings → operating conditions, with what is missing stood in for and said."""

import numpy as np
import pandas as pd

from sevenppb.detect import streams
from sevenppb.detect.balance.model import Conditions
from sevenppb.detect.physics import steam
from sevenppb.detect.quality.steady import FIRST, load_role

USUAL_INLET = (
    70.0  # degC of mixed condensate and make-up where it is not measured; common practice, no source
)
USUAL_SUPPLY = (
    3.0  # steam supply pressure over shell pressure where it is not measured; common practice, no source
)


def conditions_of(hourly: pd.DataFrame, barometer: pd.Series) -> tuple[Conditions, tuple[str, ...]]:
    """Conditions per hour (same length as `hourly`), and a sentence for each thing assumed.

    A role that is not recorded takes a usual constant: what depends on it is then left to the seasonal model.
    A recorded role that is missing in an hour stays NaN there, and so does what is expected from it: a usual value
    for a while would be a step.
    """
    notes: list[str] = []
    size = len(hourly)

    def reading(role: str, usual: float | np.ndarray, assumed: str) -> np.ndarray:
        if role in hourly:
            return hourly[role].to_numpy(dtype=float)
        if assumed:
            notes.append(assumed)
        return np.full(size, usual)

    role = load_role(hourly)
    if role is None:
        flow = np.full(size, 10.0)
        notes.append("no flow is recorded: load can't be told from a fault")
    else:
        flow = hourly[role].to_numpy(dtype=float)
        if role != "inlet_flow":
            notes.append(f"inlet flow is not recorded: {role.replace('_', ' ')} stands for the load")
    pressure = hourly["shell_pressure"].to_numpy(dtype=float)
    typical = float(np.nanmedian(pressure[:FIRST]))
    supply = reading("steam_pressure", USUAL_SUPPLY * typical, "steam supply pressure is not recorded")
    saturated = steam.saturation_temperature(supply)
    superheated = reading("steam_temperature", -np.inf, "")
    return (
        Conditions(
            flow=np.maximum(flow, 1e-3),
            inlet_temperature=reading(
                "inlet_temperature",
                USUAL_INLET,
                f"inlet temperature is not recorded: {USUAL_INLET:g} °C assumed",
            ),
            shell_pressure=pressure,
            steam_pressure=supply,
            steam_temperature=np.maximum(saturated, superheated),
            barometer=barometer.to_numpy(dtype=float),
            vent_valve=np.maximum(reading("vent_valve", 1.0, ""), 0.01),
            inlet_oxygen=reading("inlet_oxygen", np.nan, ""),
            drain_flow=reading("drain_flow", 0.0, ""),
            drain_temperature=reading("drain_temperature", steam.saturation_temperature(pressure), ""),
            makeup_share=streams.makeup_share(hourly),
            scavenger_dose=reading("scavenger_flow", np.nan, "") / np.maximum(flow, 1e-3),
        ),
        tuple(notes),
    )
