"""One vessel's exports → its hourly readings, every raw value used or counted by the reason why not."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from sevenppb.detect import units
from sevenppb.detect.errors import UnitFault, VesselFault
from sevenppb.detect.exports import engine, files, load, sources
from sevenppb.detect.exports.load import Source
from sevenppb.detect.exports.merge import Clock, merged
from sevenppb.detect.fleet import Fleet, Vessel, reading_quantity
from sevenppb.detect.quality import judge, unit_jump
from sevenppb.detect.quality.gaps import HOLD_HOURS
from sevenppb.detect.quality.hourly import HOUR_US, Hours
from sevenppb.detect.quality.readings import Readings
from sevenppb.detect.quality.screen import Limits, Screened, finished, placed, screen
from sevenppb.detect.roles import ROLES
from sevenppb.detect.units import Unit

_SPIKE = 10.0  # times the instrument's usual uncertainty: lower jumps are left to the median
_AT_ONCE = 20_000_000  # values in memory: a vessel-year of minutes fits, more goes role by role
REASONS = (
    "used", "empty", "text for bad", "bad quality", "not a number", "no such time", "duplicate", "out of range",
    "spike", "frozen", "unit jump",
)  # fmt: skip


def read_vessel(
    vessel: Vessel, fleet: Fleet, since: pd.Timestamp | None, until: pd.Timestamp | None
) -> Readings:
    """The vessel's hourly readings from `since` to `until` (both included; None: all there is).

    Raises VesselFault (no file, a tag in no export, no unit, nothing to read) or ExportFault (a file is broken or
    its form can't be settled)."""
    roles = list(vessel.tags)
    wanted = [vessel.tags[role].tag for role in roles]
    with engine.start() as running:
        found = files.find(vessel.id, vessel.exports, running.folder)
        opened = sources.settled(
            [load.opened(running, file, wanted, vessel.layout) for file in found], running
        )
        sources.all_there(vessel, running, opened, wanted)
        told = {role: _told(vessel, running, opened, i, role) for i, role in enumerate(roles)}
        tags, counts = _screened(running, opened, fleet, vessel, told, (since, until))
    if not any(len(tag.hours.count) for tag in tags.values()):
        raise VesselFault(f'vessel "{vessel.id}": {_nothing(counts, since, until)}')
    notes = [f"{note}" for source in opened for note in source.notes]
    return _readings(vessel, tags, told, counts, notes)


@dataclass(frozen=True)
class Told:
    """A role's unit, each export's own where that is what counts, and notes on them."""

    unit: Unit
    own: tuple[Unit | None, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True)
class Counts:
    """A role's readings: all that were read, and those dropped before any look at values, by reason."""

    read: int
    dropped: Counter[str]
    conflicting: int
    undecided: int


def _told(vessel: Vessel, running: engine.Engine, opened: Sequence[Source], position: int, role: str) -> Told:
    """The role's unit: the fleet file's, else the exports'. Each export's own is kept where they differ."""
    reference = vessel.tags[role]
    said = [sources.unit_of(running, source, position, reference.tag) for source in opened]
    here = f'vessel "{vessel.id}", {role} (tag "{reference.tag}")'
    texts = [text for text in said if text]
    chosen = reference.unit or (texts[0] if texts else None)
    if chosen is None:
        raise VesselFault(
            f'{here}: no unit, in the fleet file or in the exports. Add unit = "..." in the fleet file.'
        )
    try:
        unit = units.resolve(chosen, reading_quantity(role))
        own = [
            None if reference.unit or not text else units.resolve(text, reading_quantity(role))
            for text in said
        ]
    except UnitFault as fault:
        raise VesselFault(f"{here}, as the export says: {fault}") from None
    notes = [f"{role}: {unit.note}"] if unit.note else []
    other = [text for text in texts if reference.unit and units.fold(text) != units.fold(reference.unit)]
    if other and _contradicts(other[0], unit, reading_quantity(role)):
        notes.append(
            f'{role}: the export says "{other[0]}", the fleet file "{reference.unit}": the fleet file\'s is used'
        )
    return Told(unit, tuple(own), tuple(notes))


def _contradicts(text: str, unit: Unit, quantity: str) -> bool:
    """Whether an export's unit is another than the fleet file's; a bare pressure unit fits gauge and abs."""
    for candidate in (text, f"{text} gauge", f"{text} abs"):
        try:
            found = units.resolve(candidate, quantity)
        except UnitFault:
            continue
        if np.isclose(found.scale, unit.scale) and found.offset == unit.offset and candidate != text:
            return False
        if candidate == text and (found.scale, found.offset, found.reference) == (
            unit.scale,
            unit.offset,
            unit.reference,
        ):
            return False
    return True


def _screened(
    running: engine.Engine, opened: Sequence[Source], fleet: Fleet, vessel: Vessel, told: dict[str, Told],
    span: tuple[pd.Timestamp | None, pd.Timestamp | None],
) -> tuple[dict[str, Screened], dict[str, Counts]]:  # fmt: skip
    """Each role's hours, in its tag's unit, and its counts. Raw readings are let go role by role."""
    since, until = (None if t is None else t.value // 1000 for t in span)
    roles = list(told)
    values = sum(s.rows * (1 if s.code else len(roles)) for s in opened)
    size = len(roles) if values <= _AT_ONCE else 1
    tags, counts = {}, {}
    for first in range(0, len(roles), size):
        batch = list(range(first, min(first + size, len(roles))))
        parts: dict[int, list[tuple[load.Raw, Clock]]] = {i: [] for i in batch}
        for k, source in enumerate(opened):
            form, expression = source.times[0]
            clock = Clock("UTC" if form.zoned else fleet.timezone)
            for i, raw in load.fetched(running, source, batch, expression).items():
                parts[i].append((_in_unit(raw, told[roles[i]], k, vessel.barometer), clock))
        for i in batch:
            series = merged(parts.pop(i), since, until)
            limits = _limits(roles[i], told[roles[i]].unit, vessel.barometer)
            tags[roles[i]] = screen(series.time, series.value, series.ends_hold, limits)
            counts[roles[i]] = Counts(series.read, series.dropped, series.conflicting, series.undecided)
    return tags, counts


def _in_unit(raw: load.Raw, told: Told, export: int, barometer: float) -> load.Raw:
    """The readings in the role's unit, where an export of its own accord uses another."""
    own = told.own[export]
    if own is None or (own.scale, own.offset, own.reference) == (
        told.unit.scale,
        told.unit.offset,
        told.unit.reference,
    ):
        return raw
    return replace(raw, value=units.undo(units.apply(raw.value, own, barometer), told.unit, barometer))


def _limits(role: str, unit: Unit, barometer: float) -> Limits:
    """The role's range and the least height of a spike, in the tag's unit."""
    row = ROLES[role]
    low, high = np.sort(units.undo(np.array([row.low, row.high]), unit, barometer))
    floor = _SPIKE * row.accuracy
    return Limits(
        float(low), float(high), 0.0 if row.relative else floor / unit.scale, floor if row.relative else 0.0
    )


def _nothing(counts: dict[str, Counts], since: pd.Timestamp | None, until: pd.Timestamp | None) -> str:
    if not any(c.read for c in counts.values()):
        limits = [
            f"{word} {t:%Y-%m-%d %H:%M}" for word, t in (("since", since), ("until", until)) if t is not None
        ]
        return f"the exports hold no reading {' '.join(limits) or 'at all'}. Widen the span or export more."
    reasons = sum((c.dropped for c in counts.values()), Counter())
    most = ", ".join(f"{n} {reason}" for reason, n in reasons.most_common(3))
    return f"none of the readings can be used ({most}). Look at the exports' times and values."


def _readings(
    vessel: Vessel,
    tags: dict[str, Screened],
    told: dict[str, Told],
    counts: dict[str, Counts],
    notes: list[str],
) -> Readings:
    first = min(tag.first_hour for tag in tags.values() if len(tag.hours.count))
    last = max(tag.first_hour + len(tag.hours.count) for tag in tags.values() if len(tag.hours.count))
    tags = {role: placed(tag, first, last - first) for role, tag in tags.items()}
    alive = np.any([tag.hours.count > 0 for tag in tags.values()], axis=0)
    tags = {role: finished(tag, alive) for role, tag in tags.items()}
    found = judge.judge(
        tags,
        {role: ROLES[role].quantity for role in tags},
        {role: 1.0 / told[role].unit.scale for role in tags if ROLES[role].quantity == "fraction"},
        {role: _conversions(role, told[role].unit, vessel.barometer) for role in tags},
    )
    index = pd.to_datetime((first + np.arange(last - first)) * HOUR_US, unit="us", utc=True)
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
        notes=(*notes, *assumed, *told_notes, *found.notes, *_count_notes(tags, counts)),
        stuck=stuck,
    )


def _conversions(role: str, unit: Unit, barometer: float) -> list[unit_jump.Conversion]:
    if role == "barometric_pressure":
        return []
    return unit_jump.conversions(ROLES[role].quantity, barometer / unit.scale)


def _barometer(
    vessel: Vessel, hours: dict[str, Hours], told: dict[str, Told]
) -> tuple[float | units.Floats, list[str]]:
    """The air's pressure by hour [Pa] where it is recorded, gaps filled between neighbours; else the vessel's."""
    relative = [role for role, t in told.items() if t.unit.reference in ("gauge", "vacuum")]
    if "barometric_pressure" in hours and hours["barometric_pressure"].count.any():
        pressure = units.apply(hours["barometric_pressure"].median, told["barometric_pressure"].unit, 0.0)
        filled = pd.Series(pressure).interpolate(limit_direction="both").to_numpy()
        missing = int(np.isnan(pressure).sum())
        note = f"barometer: {missing} hours without a reading lie between its neighbours' values"
        return filled, [note] if missing and relative else []
    note = f"barometer not recorded: {vessel.barometer / 1000:g} kPa assumed"
    return vessel.barometer, [note] if relative else []


def _tally(
    tags: dict[str, Screened], counts: dict[str, Counts], cut: dict[str, dict[str, int]]
) -> pd.DataFrame:
    """A row a role, a column a reason; a row sums to what was read."""
    rows = {}
    for role, tag in tags.items():
        dropped, read = counts[role].dropped, counts[role].read
        row = Counter(dropped)
        row.update(cut[role])
        row["not a number"] += read - dropped.total() - tag.numbers
        row["used"] = tag.numbers - sum(cut[role].values())
        rows[role] = {reason: row[reason] for reason in REASONS}
    tally = pd.DataFrame.from_dict(rows, orient="index", columns=list(REASONS))
    return tally.loc[:, (tally.columns == "used") | (tally > 0).any()]


def _count_notes(tags: dict[str, Screened], counts: dict[str, Counts]) -> list[str]:
    """What the counts mean, for the report."""
    notes = []
    for role, tag in tags.items():
        count, cut = counts[role], tag.cut
        if tag.sparse is not None:
            notes.append(
                f"{role} is stored by exception: a value is held until the next, {HOLD_HOURS} hours at most"
            )
        if count.conflicting:
            notes.append(
                f"{role}: {count.conflicting} readings come twice with different values: the last good one, in the order "
                "of the exports, was used"
            )
        if count.dropped["no such time"]:
            notes.append(
                f"{role}: {count.dropped['no such time']} readings have no time that can be read, or one that the "
                "timezone's clock skips: does the fleet file's timezone fit the exports?"
            )
        if count.undecided:
            notes.append(
                f"{role}: {count.undecided} readings in hours that the clock repeats were taken as the first pass"
            )
        if cut.get("spike"):
            notes.append(f"{role}: {cut['spike']} single readings that their neighbours contradict were cut")
        if cut.get("out of range"):
            row = ROLES[role]
            notes.append(
                f"{role}: {cut['out of range']} readings outside {row.low:g} to {row.high:g} {row.unit} were cut"
            )
    return notes
