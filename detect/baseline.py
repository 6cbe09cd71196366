"""Which stretch counts as healthy, and why."""

from dataclasses import dataclass

import pandas as pd

from sevenppb.detect.fleet import Vessel
from sevenppb.detect.settings import Settings

DAY = pd.Timedelta(days=1)


@dataclass(frozen=True)
class Baseline:
    """Healthy stretch: first day and the day after its last (UTC midnights), and the sentence that says why."""

    start: pd.Timestamp
    end: pd.Timestamp
    why: str


def choose_baseline(vessel: Vessel, steady_days: pd.DatetimeIndex, settings: Settings) -> Baseline:
    """The fleet file's dates or length where given; else the first `settings.baseline_days` days with steady running,
    at most 40 % of them, since most vessels are watched from a known good start."""
    first = steady_days[0]
    if isinstance(vessel.baseline, tuple):
        start, end = vessel.baseline
        return Baseline(max(start.floor("D"), first), end.ceil("D"), "given by two dates in the fleet file")
    if isinstance(vessel.baseline, pd.Timedelta):
        end = (first + vessel.baseline).floor("D")
        return Baseline(first, end, f"given in the fleet file: the first {vessel.baseline.days} days")
    count = min(settings.baseline_days, int(0.4 * len(steady_days)))
    end = steady_days[max(count - 1, 0)] + DAY
    why = f"the first {count} days with steady running, as the fleet file gives none"
    if count < settings.baseline_days:
        why += f"; it grows with the export up to {settings.baseline_days}, so later scans may judge these days anew"
    return Baseline(first, end, why)
