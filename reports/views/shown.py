"""What the readings say beside the watched features, as finished text: shown, not tested."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from sevenppb.detect.incidents.incident import VesselScan
from sevenppb.detect.shown import SHOWN
from sevenppb.reports import numbers
from sevenppb.reports.numbers import Units

MONTH = 30  # days with readings, the last ones
DOUBT = "_sd"


@dataclass(frozen=True)
class ShownRow:
    """One feature: its median over the baseline and over the last month, with its uncertainty then."""

    feature: str
    healthy: str
    recent: str
    uncertainty: str


def shown_rows(vessel: VesselScan, units: Units) -> tuple[ShownRow, ...]:
    """A row a feature that these readings allow, in the table's order."""
    if vessel.baseline is None:
        return ()
    rows = []
    daily = vessel.daily
    days = pd.DatetimeIndex(daily.index)
    healthy = np.asarray((days >= vessel.baseline[0]) & (days < vessel.baseline[1]))
    for name, row in SHOWN.items():
        if name.endswith(DOUBT) or name not in daily:
            continue
        value = daily[name].to_numpy()
        recent = np.flatnonzero(~np.isnan(value))[-MONTH:]
        if len(recent) == 0:
            continue
        doubt = _median(daily[name + DOUBT].to_numpy()[recent]) if name + DOUBT in daily else None
        levels = (_median(value[healthy]), _median(value[recent]))
        before, now = (numbers.doubted(name, level, doubt, row.unit, units) for level in levels)
        rows.append(ShownRow(row.label, before, now, numbers.doubt(doubt, row.unit, units)))
    return tuple(rows)


def _median(values: NDArray[np.float64]) -> float:
    there = values[~np.isnan(values)]
    return float(np.median(there)) if len(there) else float("nan")
