"""Which stretch counts as healthy, and why."""

from dataclasses import dataclass

import pandas as pd

from sevenppb.detect.fleet import Vessel
from sevenppb.detect.settings import Settings

DAY = pd.Timedelta(days=1)
LONG = pd.Timedelta(days=350)  # from which on a baseline has seen the year


@dataclass(frozen=True)
class Baseline:
    """Healthy stretch: first day and the day after its last (UTC midnights), and the sentence that says why."""

    start: pd.Timestamp
    end: pd.Timestamp
    why: str


def choose_baseline(vessel: Vessel, steady_days: pd.DatetimeIndex, settings: Settings) -> Baseline:
    """The fleet file's dates or length where given; else the first `settings.baseline_days` days with steady running,
    since most vessels are watched from a known good start. Until there are so many, the watch has not begun: no choice
    is made that later days would change."""
    first = steady_days[0]
    if isinstance(vessel.baseline, tuple):
        start, end = vessel.baseline
        return Baseline(max(start.floor("D"), first), end.ceil("D"), "given by two dates in the fleet file")
    if isinstance(vessel.baseline, pd.Timedelta):
        end = (first + vessel.baseline).floor("D")
        return Baseline(first, end, f"given in the fleet file: the first {vessel.baseline.days} days")
    count = settings.baseline_days
    end = steady_days[min(count, len(steady_days)) - 1] + DAY
    return Baseline(first, end, f"the first {count} days with steady running, as the fleet file gives none")


def is_long(vessel: Vessel) -> bool:
    """Whether the fleet file gives the vessel a baseline that sees the year."""
    given = vessel.baseline
    if isinstance(given, tuple):
        return given[1].ceil("D") - given[0].floor("D") >= LONG
    return given is not None and given >= LONG
