"""A vessel's exports looked through before any scan: per tag what is there, per vessel whether its units
fit."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from sevenppb.detect import units
from sevenppb.detect.exports import read, sanity
from sevenppb.detect.exports.gather import Gathered, gather
from sevenppb.detect.exports.sanity import Named
from sevenppb.detect.fleet import Fleet, Vessel
from sevenppb.detect.quality.readings import Readings

_GAP_HOURS = 1  # an hour without a reading is a gap


@dataclass(frozen=True)
class FileCheck:
    """One export: how sentences name it, its rows, and in words how it was read."""

    file: str
    rows: int
    form: tuple[str, ...]


@dataclass(frozen=True)
class TagCheck:
    """One role's tag. `readings` were read, `used` passed, `bad` counts the others by reason; `first` and
    `last` hour with a reading [UTC]; `interval` from one reading to the next, typically; `gaps` are stretches
    of hours without any and `longest_gap` the longest; `low`, `middle`, `high` of the hourly values, in the
    tag's own `unit`."""

    role: str
    tag: str
    unit: str
    readings: int
    used: int
    bad: dict[str, int]
    first: pd.Timestamp | None
    last: pd.Timestamp | None
    interval: pd.Timedelta | None
    gaps: int
    longest_gap: pd.Timedelta
    low: float
    middle: float
    high: float


@dataclass(frozen=True)
class VesselCheck:
    """What `check` shows of one vessel: `problems` are units that can't be right, each with the likely one;
    `notes` are facts on the readings; `readings` are handed on for the look at what can be seen."""

    vessel: str
    files: tuple[FileCheck, ...]
    tags: tuple[TagCheck, ...]
    problems: tuple[str, ...]
    notes: tuple[str, ...]
    readings: Readings


def check_vessel(vessel: Vessel, fleet: Fleet) -> VesselCheck:
    """Reads all of the vessel's exports and judges nothing but their quality. Raises as read_vessel does."""
    gathered = gather(vessel, fleet, None, None)
    readings = read.readings(vessel, gathered)
    named = {
        role: Named(vessel.tags[role].tag, told.unit.text, gathered.tags[role].usual)
        for role, told in gathered.told.items()
    }
    return VesselCheck(
        vessel.id,
        tuple(FileCheck(*file) for file in gathered.files),
        tuple(_tag(role, gathered, readings, named[role], vessel.barometer) for role in gathered.tags),
        tuple(sanity.problems(readings.hourly, named, vessel.barometer)),
        readings.notes,
        readings,
    )


def _tag(role: str, gathered: Gathered, readings: Readings, named: Named, barometer: float) -> TagCheck:
    stored = gathered.tags[role].readings
    filled = np.flatnonzero(stored > 0)
    index = readings.hourly.index
    shown = _in_tag_unit(role, gathered, readings, barometer)
    row = {str(reason): int(n) for reason, n in readings.tally.loc[role].to_dict().items()}
    empty = (readings.count[role] == 0).to_numpy()
    gaps = _stretches(empty[filled[0] : filled[-1] + 1]) if len(filled) else []
    return TagCheck(
        role=role,
        tag=named.tag,
        unit=named.unit,
        readings=sum(row.values()),
        used=row.pop("used"),
        bad={reason: n for reason, n in row.items() if n},
        first=index[filled[0]] if len(filled) else None,
        last=index[filled[-1]] if len(filled) else None,
        interval=_interval(stored, filled),
        gaps=len(gaps),
        longest_gap=pd.Timedelta(hours=max(gaps, default=0)),
        low=float(shown.min()),
        middle=float(shown.median()),
        high=float(shown.max()),
    )


def _in_tag_unit(role: str, gathered: Gathered, readings: Readings, barometer: float) -> pd.Series:
    inside = readings.hourly[role]
    return pd.Series(units.undo(inside.to_numpy(), gathered.told[role].unit, barometer), index=inside.index)


def _interval(stored: np.ndarray, filled: np.ndarray) -> pd.Timedelta | None:
    """From the readings in a typical hour; from the whole span where most hours have none."""
    if stored.sum() < 2:
        return None
    span = filled[-1] - filled[0] + 1
    per_hour = float(np.median(stored[filled])) if len(filled) > span / 2 else stored.sum() / span
    return pd.Timedelta(seconds=round(3600.0 / per_hour))


def _stretches(empty: np.ndarray) -> list[int]:
    """Lengths of the runs of empty hours."""
    bounds = np.flatnonzero(np.diff(np.concatenate([[False], empty, [False]]).astype(int)))
    return [int(n) for n in bounds[1::2] - bounds[::2] if n >= _GAP_HOURS]
