"""Which hours count: only steady running says anything about a slow fault.

Marks, never drops: one column a reason, True where the hour is cut for it.
"""

import pandas as pd

from sevenppb.detect.settings import Settings

FIRST = 24 * 60  # hours that choose the load's role: later readings must not change what earlier ones meant
LEVEL_MOVE = 0.1  # of the range within an hour: water that fills or empties the storage isn't in the balance
LOADS = ("inlet_flow", "outlet_flow", "steam_flow", "makeup_flow")


def load_role(hourly: pd.DataFrame) -> str | None:
    """The role that best stands for the load: the first of LOADS with readings in at least half of the first FIRST
    hours that have a shell pressure; None where there is none."""
    early = hourly[hourly["shell_pressure"].notna()].iloc[:FIRST]
    return next((r for r in LOADS if r in early and early[r].notna().sum() >= 0.5 * len(early)), None)


def steady_marks(hourly: pd.DataFrame, barometer: pd.Series, settings: Settings) -> pd.DataFrame:
    """Marks per hour (index as `hourly`): no reading, standing, start-up, load move, pressure move, level move.

    hourly      a column a role, inside units; shell_pressure and storage_temperature are there
    barometer   [Pa], aligned with hourly
    """
    pressure, temperature = hourly["shell_pressure"], hourly["storage_temperature"]
    missing = pressure.isna() | temperature.isna()
    standing = (pressure < barometer + 0.02 * barometer) | (temperature < 60.0)
    marks = {"no reading": missing}
    role = load_role(hourly)
    if role is not None:
        load = hourly[role]
        # A high load of the readings so far: an hour's mark must not hang on later ones.
        usual = load.where(load > 0).expanding(min_periods=1).quantile(0.9)
        missing = missing | load.isna()
        marks["no reading"] = missing
        standing = standing | (load < settings.min_load * usual)
        moved = (load.diff().abs() / usual).fillna(0.0)
        marks["load move"] = (moved > settings.max_load_move) & ~standing & ~missing
    standing = standing & ~missing
    marks["standing"] = standing
    stopped = standing.rolling(settings.settle_hours + 1, min_periods=1).max() > 0
    marks["start-up"] = stopped & ~standing & ~missing
    move = (pressure.diff().abs() / pressure).fillna(0.0)
    marks["pressure move"] = (move > 0.05) & ~standing & ~missing & ~marks["start-up"]
    if "level" in hourly:
        swung = hourly["level"].diff().abs().fillna(0.0) > LEVEL_MOVE
        marks["level move"] = swung & ~standing & ~missing & ~marks["start-up"]
    return pd.DataFrame(marks, index=hourly.index).astype(bool)
