"""One vessel's exports → its hourly readings, every raw value used or counted by the reason why not."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pandas as pd

from sevenppb.detect import units
from sevenppb.detect.exports.files import ExportFile
from sevenppb.detect.exports.gather import Counts, Gathered, gather
from sevenppb.detect.exports.merge import FARTHEST_YEARS
from sevenppb.detect.exports.tag_units import Told
from sevenppb.detect.fleet import Fleet, Vessel
from sevenppb.detect.quality import judge, unit_jump
from sevenppb.detect.quality.gaps import HOLD_HOURS
from sevenppb.detect.quality.hourly import HOUR_US, Hours
from sevenppb.detect.quality.readings import Readings
from sevenppb.detect.quality.screen import Screened, finished
from sevenppb.detect.roles import ROLES
from sevenppb.detect.units import Unit

REASONS = (
    "used", "empty", "text for bad", "bad quality", "not a number", "no such time", "duplicate",
    "out of range",
    "spike", "frozen", "unit jump",
)  # fmt: skip


def read_vessel(
    vessel: Vessel,
    fleet: Fleet,
    since: pd.Timestamp | None = None,
    until: pd.Timestamp | None = None,
    found: Sequence[ExportFile] | None = None,
) -> Readings:
    """The vessel's hourly readings from `since` to `until` (both included; None: all there is). `found` are its
    exports where they were looked for already.

    Raises VesselFault (no file, a tag in no export, no unit, nothing to read) or ExportFault (a file is
    broken or its form can't be settled)."""
    return readings(vessel, gather(vessel, fleet, since, until, found))


def readings(vessel: Vessel, gathered: Gathered) -> Readings:
    """The hourly readings of a vessel's gathered tags: held, judged beside each other, in inside units."""
    tags, told, counts = gathered.tags, gathered.told, gathered.counts
    first = next(iter(tags.values())).first_hour
    alive = np.any([tag.hours.count > 0 for tag in tags.values()], axis=0)
    tags = {role: finished(tag, alive) for role, tag in tags.items()}
    found = judge.judge(
        tags,
        {role: ROLES[role].quantity for role in tags},
        {role: 1.0 / told[role].unit.scale for role in tags if ROLES[role].quantity == "fraction"},
        {role: _conversions(role, told[role].unit, vessel.barometer) for role in tags},
    )
    index = pd.to_datetime((first + np.arange(len(alive))) * HOUR_US, unit="us", utc=True)
    barometer, assumed = _barometer(vessel, found.hours, told)
    hourly = {role: units.apply(found.hours[role].median, told[role].unit, barometer) for role in tags}
    spread = {role: found.hours[role].spread * abs(told[role].unit.scale) for role in tags}
    tally = _tally(tags, counts, found.cut)
    stuck = tuple(
        replace(s, value=float(units.apply(np.array(s.value), told[s.role].unit, vessel.barometer)))
        for s in found.stuck
    )
    told_notes = [note for role in tags for note in told[role].notes]
    return Readings(
        vessel=vessel.id,
        hourly=pd.DataFrame(hourly, index=index),
        spread=pd.DataFrame(spread, index=index),
        count=pd.DataFrame({role: found.hours[role].count for role in tags}, index=index),
        tally=tally,
        total=int(tally.to_numpy().sum()),
        notes=(*gathered.notes, *assumed, *told_notes, *found.notes, *_count_notes(tags, counts, found.cut)),
        stuck=stuck,
    )


def _conversions(role: str, unit: Unit, barometer: float) -> list[unit_jump.Conversion]:
    if role == "barometric_pressure":
        return []
    return unit_jump.conversions(ROLES[role].quantity, barometer / unit.scale)


def _barometer(
    vessel: Vessel, hours: dict[str, Hours], told: dict[str, Told]
) -> tuple[float | units.Floats, list[str]]:
    """The air's pressure by hour [Pa] where it is recorded, gaps filled between neighbours; else the
    vessel's."""
    relative = [role for role, t in told.items() if t.unit.reference in ("gauge", "vacuum")]
    if "barometric_pressure" in hours and hours["barometric_pressure"].count.any():
        pressure = units.apply(hours["barometric_pressure"].median, told["barometric_pressure"].unit, 0.0)
        filled: units.Floats = np.asarray(pd.Series(pressure).interpolate(limit_direction="both"))
        missing = int(np.isnan(pressure).sum())
        note = f"barometer: {missing} hours without a reading lie between its neighbours' values"
        return filled, [note] if missing and relative else []
    note = f"barometer not recorded: {vessel.barometer / 1000:g} kPa assumed"
    return vessel.barometer, [note] if relative else []


def _tally(
    tags: dict[str, Screened], counts: dict[str, Counts], cut: dict[str, dict[str, int]]
) -> pd.DataFrame:
    """A row a role, a column a reason; a row sums to what was read."""
    rows = []
    for role, tag in tags.items():
        dropped, read = counts[role].dropped, counts[role].read
        row = Counter(dropped)
        row.update(cut[role])
        row["not a number"] += read - dropped.total() - tag.numbers
        row["used"] = tag.numbers - sum(cut[role].values())
        rows.append(row)
    told = [reason for reason in REASONS if reason == "used" or any(row[reason] > 0 for row in rows)]
    return pd.DataFrame({reason: [row[reason] for row in rows] for reason in told}, index=list(tags))


def _count_notes(
    tags: dict[str, Screened], counts: dict[str, Counts], cut: dict[str, dict[str, int]]
) -> list[str]:
    """What the counts mean, for the report: a sentence a kind, with the roles it is about."""
    sparse = [role for role, tag in tags.items() if tag.sparse is not None]
    dropped = {role: c.dropped["no such time"] for role, c in counts.items()}
    counted = {
        "come twice with different values: the last good one, in the exports' order, was used": {
            role: c.conflicting for role, c in counts.items()
        },
        "have no time that can be read, one that the timezone's clock skips (does the fleet file's timezone "
        f"fit?), or one more than {FARTHEST_YEARS} years off the others": dropped,
        "the export's quality column calls bad": {
            role: c.dropped["bad quality"] for role, c in counts.items()
        },
        "lie in hours that the clock repeats, taken as the first pass": {
            role: c.undecided for role, c in counts.items()
        },
        "their neighbours contradict: cut as spikes": {role: c.get("spike", 0) for role, c in cut.items()},
        "lie outside the role's range: cut": {role: c.get("out of range", 0) for role, c in cut.items()},
    }
    notes = []
    if sparse:
        notes.append(
            f"stored by exception, a value held until the next, {HOLD_HOURS} hours or the tag's heartbeat at most: "
            f"{', '.join(sparse)}"
        )
    for what, by_role in counted.items():
        listed = ", ".join(f"{role} {n}" for role, n in by_role.items() if n)
        if listed:
            notes.append(f"readings that {what}: {listed}")
    return notes
