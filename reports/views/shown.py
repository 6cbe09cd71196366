"""What the readings say beside the watched features, as finished text: shown, not tested."""

from dataclasses import dataclass

import pandas as pd

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
    days = pd.DatetimeIndex(vessel.daily.index)
    healthy = vessel.daily[(days >= vessel.baseline[0]) & (days < vessel.baseline[1])]
    for name, row in SHOWN.items():
        if name.endswith(DOUBT) or name not in vessel.daily or vessel.daily[name].isna().all():
            continue
        recent = vessel.daily[vessel.daily[name].notna()].iloc[-MONTH:]
        doubt = float(recent[name + DOUBT].median()) if name + DOUBT in recent else None
        levels = (float(healthy[name].median()), float(recent[name].median()))
        before, now = (numbers.doubted(name, level, doubt, row.unit, units) for level in levels)
        rows.append(ShownRow(row.label, before, now, numbers.doubt(doubt, row.unit, units)))
    return tuple(rows)
