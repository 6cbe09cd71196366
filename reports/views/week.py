"""A reading over one week: its level, last week's, and what is normal, as finished text."""

import math
from dataclasses import dataclass

import pandas as pd

from sevenppb.detect.incidents.incident import VesselScan
from sevenppb.detect.shown import SHOWN, told
from sevenppb.reports import numbers, words
from sevenppb.reports.numbers import Units

AS_EXPECTED = "as expected"
NOT_JUDGED = "not judged"
HIGHER, LOWER = "higher than expected", "lower than expected"
BANDS = 2.0  # bands within which a week's median counts as expected
# where nothing is expected by the day, what lies between these quantiles of the baseline's days is usual, and
# what lies outside by less than a share of the normal level, for season and load: common practice, no source
USUAL = (0.01, 0.99)
BEYOND = 0.1


@dataclass(frozen=True)
class ReadingRow:
    """One feature: this week's median, the week's before, and what is normal; the difference in words. Normal is the
    expected under this week's load, weather and season, for readings that are not watched the baseline's median.
    `level` is this week's [inside unit], None where it was not judged."""

    feature: str
    observed: str
    last: str
    normal: str
    verdict: str
    level: float | None


def between(daily: pd.DataFrame, first: pd.Timestamp, last: pd.Timestamp) -> pd.DataFrame:
    """The UTC days whose middle lies between, whatever the timezone."""
    if daily.empty:
        return daily
    noon = pd.DatetimeIndex(daily.index) + pd.Timedelta(hours=12)
    return daily[(noon >= first) & (noon <= last)]


def watched_row(
    vessel: VesselScan, name: str, week: tuple[pd.Timestamp, pd.Timestamp], units: Units
) -> ReadingRow:
    """A watched feature: normal is the expected."""
    days = between(vessel.daily, *week)
    both = days[[f"observed_{name}", f"expected_{name}", f"band_{name}"]].dropna()
    observed, expected, band = (float(value) for value in both.median())
    return _row(
        vessel,
        (name, f"observed_{name}", vessel.units[name], words.feature(name)),
        (observed, expected),
        _verdict(observed - expected, -BANDS * band, BANDS * band),
        week,
        units,
    )


def shown_row(
    vessel: VesselScan, name: str, week: tuple[pd.Timestamp, pd.Timestamp], units: Units
) -> ReadingRow:
    """A reading that is shown and not watched: normal is the baseline's."""
    assert vessel.baseline is not None  # a vessel with days has one
    healthy = vessel.daily[name][
        (vessel.daily.index >= vessel.baseline[0]) & (vessel.daily.index < vessel.baseline[1])
    ]
    low, high = (float(healthy.quantile(share)) for share in USUAL)
    observed, normal = (
        told(name, float(days.median())) for days in (between(vessel.daily, *week)[name], healthy)
    )
    row = SHOWN[name]
    return _row(
        vessel,
        (name, name, row.unit, row.label),
        (observed, normal),
        _verdict(
            observed - normal,
            low - normal - BEYOND * abs(normal),
            high - normal + BEYOND * abs(normal),
        ),
        week,
        units,
    )


def _row(
    vessel: VesselScan,
    read: tuple[str, str, str, str],
    levels: tuple[float, float],
    verdict: str,
    week: tuple[pd.Timestamp, pd.Timestamp],
    units: Units,
) -> ReadingRow:
    """`read` is a feature's name, column, unit and label; `levels` this week's and the normal one."""
    name, column, unit, label = read
    before = between(vessel.daily, *(moment - pd.Timedelta(days=7) for moment in week))[column]
    this, last = (
        numbers.reading(name, value, unit, units) for value in (levels[0], told(name, float(before.median())))
    )
    normal = numbers.expected(name, levels[1], unit, units)
    return ReadingRow(label, this, last, normal, verdict, levels[0] if math.isfinite(levels[0]) else None)


def _verdict(move: float, low: float, high: float) -> str:
    if not (math.isfinite(move) and math.isfinite(low) and math.isfinite(high)):
        return NOT_JUDGED
    if low <= move <= high:
        return AS_EXPECTED
    return HIGHER if move > 0 else LOWER
