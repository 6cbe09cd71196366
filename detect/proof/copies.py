"""A vessel's own baseline → longer copies of it: the baseline as it was, then weeks drawn from it.

A week goes to the same days of the week, and to the same time of year where the baseline holds it, so that
the rhythm of load and weather stays. What no baseline holds, as a dry summer after a wet one, no copy holds
either.
"""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from sevenppb.detect.fleet import Vessel
from sevenppb.detect.quality.readings import Readings

BLOCK = 7  # days: long enough to keep the correlation of days, and a week's rhythm
SEASON = 21  # days of the year that a drawn week may be off
YEAR = 365.25
DAY = pd.Timedelta(days=1)


@dataclass(frozen=True)
class Original:
    """The baseline's readings alone (whole UTC days, complete) and the vessel, told that the first of these
    days are its baseline and that no work was done."""

    vessel: Vessel
    readings: Readings

    @property
    def days(self) -> int:
        """Days of the baseline."""
        return len(self.readings.hourly) // 24


def original(vessel: Vessel, readings: Readings, start: pd.Timestamp, end: pd.Timestamp) -> Original:
    """The readings from `start` to `end` (UTC midnights); hours without any are rows of NaN."""
    hours = pd.date_range(start, end, freq="h", inclusive="left")
    own = replace(vessel, baseline=(start, end - DAY), work=())
    return Original(own, with_rows(readings, readings.hourly.reindex(hours)))


def copied(whole: Original, days: int, rng: np.random.Generator) -> Readings:
    """The baseline and `days` more."""
    hourly = whole.readings.hourly
    source = np.concatenate([np.arange(whole.days), _drawn(whole, days, rng)])
    rows = (source[:, None] * 24 + np.arange(24)).ravel()
    hours = pd.date_range(hourly.index[0], periods=len(rows), freq="h")
    return with_rows(whole.readings, hourly.iloc[rows].set_axis(hours))


def _drawn(whole: Original, days: int, rng: np.random.Generator) -> NDArray[np.intp]:
    """For each of the days after the baseline, the baseline's day that stands in for it."""
    starts = np.arange(max(whole.days - BLOCK + 1, 1))
    out = []
    for first in range(whole.days, whole.days + days, BLOCK):
        fits = starts[(first - starts) % BLOCK == 0]
        apart = abs((first - fits + YEAR / 2) % YEAR - YEAR / 2)
        timely = fits[apart <= SEASON]
        out.append(int(rng.choice(timely if len(timely) else fits)) + np.arange(BLOCK))
    return np.concatenate(out)[:days]


def with_rows(readings: Readings, hourly: pd.DataFrame) -> Readings:
    """Readings with these hours and nothing told of any others."""
    none = hourly.iloc[:0]
    return replace(readings, hourly=hourly, spread=none, count=none, notes=(), stuck=())
