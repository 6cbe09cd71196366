"""One vessel's exports → each tag screened, in its own unit, with the counts and notes that go with it."""

import itertools
import os
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
import pyarrow

from sevenppb.detect import units
from sevenppb.detect.errors import VesselFault
from sevenppb.detect.exports import (
    alike,
    day_order,
    engine,
    fetch,
    files,
    load,
    sources,
    spans,
    tag_units,
    values,
)
from sevenppb.detect.exports.load import Source
from sevenppb.detect.exports.merge import FARTHEST_US, FARTHEST_YEARS, merged
from sevenppb.detect.exports.tag_units import Told
from sevenppb.detect.fleet import Fleet, Vessel
from sevenppb.detect.quality.hourly import HOUR_US
from sevenppb.detect.quality.screen import Limits, Screened, joined, placed, screen, stored_by_exception
from sevenppb.detect.roles import ROLES
from sevenppb.detect.units import Unit

# why every value of a tag can be none → that in words, and what to look at
_REMEDIES = {
    values.KINDS[values.BAD_TEXT]: (
        "is a text for a bad one", "look whether the historian still collects it, and under this name"
    ),
    values.KINDS[values.BAD_QUALITY]: (
        "is bad by the export's quality column", "look what its words or codes mean, or leave the column out"
    ),
    values.KINDS[values.EMPTY]: ("is empty", "look at the tag's name and at the span of the export"),
}  # fmt: skip
_SPIKE = 10.0  # times the instrument's usual uncertainty: lower jumps are left to the median


@dataclass(frozen=True)
class Counts:
    """A role's readings: all that were read, and those dropped before any look at values, by reason."""

    read: int
    dropped: Counter[str]
    conflicting: int
    undecided: int

    def __add__(self, other: "Counts") -> "Counts":
        return Counts(
            self.read + other.read,
            self.dropped + other.dropped,
            self.conflicting + other.conflicting,
            self.undecided + other.undecided,
        )


@dataclass(frozen=True)
class Gathered:
    """A vessel's tags by role, on one row of hours; `files` says of each export how it was read; `notes` are
    sentences on the exports."""

    tags: dict[str, Screened]
    told: dict[str, Told]
    counts: dict[str, Counts]
    files: tuple[tuple[str, int, tuple[str, ...]], ...]
    notes: tuple[str, ...]


def gather(
    vessel: Vessel,
    fleet: Fleet,
    since: pd.Timestamp | None,
    until: pd.Timestamp | None,
    found: Sequence[files.ExportFile] | None = None,
) -> Gathered:
    """The vessel's readings from `since` to `until` (both included; None: all there is). `found` are its
    exports where they were looked for already.

    Raises VesselFault (no file, a tag in no export, no unit, nothing to read) or ExportFault (a file is
    broken or its form can't be settled)."""
    roles = list(vessel.tags)
    wanted = [vessel.tags[role].tag for role in roles]
    with engine.start() as running:
        if found is None:
            found = files.find(vessel.id, vessel.exports, running.folder)
        opened = alike.opened(running, found, wanted, vessel.layout)
        opened = day_order.settled(opened, running, vessel.dates)
        told = {role: tag_units.told(vessel, running, opened, i, role) for i, role in enumerate(roles)}
        tags, counts = _screened(running, opened, fleet, vessel, told, (since, until))
        notes = [note for source in opened for note in source.notes]
        notes += _strange(vessel, running, opened, counts)
        useless = _useless(vessel, running, opened, tags, counts)
    filled = [tag for tag in tags.values() if len(tag.hours.count)]
    if not any(tag.numbers for tag in filled):
        raise VesselFault(f'vessel "{vessel.id}": {_nothing(counts, since, until, useless)}')
    first = min(tag.first_hour for tag in filled)
    last = max(tag.first_hour + len(tag.hours.count) for tag in filled)
    if last - first > FARTHEST_US // HOUR_US:
        early = min((t.first_hour, role) for role, t in tags.items() if len(t.hours.count))[1]
        late = max((t.first_hour, role) for role, t in tags.items() if len(t.hours.count))[1]
        raise VesselFault(
            f'vessel "{vessel.id}": the readings of {early} and {late} lie more than {FARTHEST_YEARS} years apart. '
            "Correct the times of their exports."
        )
    tags = {role: placed(tag, first, last - first) for role, tag in tags.items()}
    shown = tuple((file.shown, rows, source.told) for source in opened for file, rows in source.files)
    return Gathered(tags, told, counts, shown, (*notes, *useless))


def _screened(
    running: engine.Engine, opened: Sequence[Source], fleet: Fleet, vessel: Vessel, told: dict[str, Told],
    span: tuple[pd.Timestamp | None, pd.Timestamp | None],
) -> tuple[dict[str, Screened], dict[str, Counts]]:  # fmt: skip
    """Each role's hours, in its tag's unit, and its counts. Raw readings are let go span by span."""
    since, until = (None if t is None else t.value // 1000 for t in span)
    roles, wanted = list(told), [vessel.tags[role].tag for role in told]
    screened: dict[str, list[Screened]] = {role: [] for role in roles}
    counts = {role: Counts(0, Counter(), 0, 0) for role in roles}

    def one(role: str, raws: list[fetch.Raw], part: spans.Span) -> tuple[Screened, Counts]:
        series = merged(raws, *part.limits(since, until))
        limits = limits_of(role, told[role].unit, vessel.barometer)
        found = screen(
            series.time, series.value, series.ends_hold, limits, stored_by_exception(screened[role])
        )
        return found, Counts(series.read, series.dropped, series.conflicting, series.undecided)

    with ThreadPoolExecutor(
        os.cpu_count()
    ) as pool:  # numpy sorts and compares without the interpreter's lock
        for part in spans.spans(running, opened, len(roles), fleet.timezone):
            parts: dict[str, list[fetch.Raw]] = {}
            for k, source in enumerate(opened):
                form, time = source.times[0]
                zone = "UTC" if form.zoned else fleet.timezone
                for i, raw in fetch.fetched(
                    running, source, wanted, zone, part.condition(time, form.zoned)
                ).items():
                    role = roles[i]
                    own = tag_units.in_unit(raw, told[role], k, vessel.barometer)
                    if own.kind is not None:
                        full = 1.0 / told[role].unit.scale if ROLES[role].quantity == "fraction" else None
                        value, kind = values.stated(own.value, own.kind, full)
                        own = replace(own, value=value, kind=kind)
                    parts.setdefault(role, []).append(own)
            done = pool.map(one, parts, parts.values(), itertools.repeat(part))
            for role, (found, count) in zip(parts, done, strict=True):
                screened[role].append(found)
                counts[role] += count
            pyarrow.default_memory_pool().release_unused()
    if not all(screened.values()):
        sources.all_there(vessel, running, opened, wanted)
    return {role: joined(found) for role, found in screened.items()}, counts


def limits_of(role: str, unit: Unit, barometer: float) -> Limits:
    """The role's range and the least height of a spike, in the tag's unit."""
    row = ROLES[role]
    low, high = np.sort(units.undo(np.array([row.low, row.high]), unit, barometer))
    floor = _SPIKE * row.accuracy
    return Limits(
        float(low), float(high), 0.0 if row.relative else floor / unit.scale, floor if row.relative else 0.0
    )


def _strange(
    vessel: Vessel, running: engine.Engine, opened: Sequence[Source], counts: dict[str, Counts]
) -> list[str]:
    """What texts were no numbers and no known words for bad values: a sentence for the roles that hold alike ones."""
    roles: dict[str, list[str]] = {}
    for i, (role, reference) in enumerate(vessel.tags.items()):
        if number := counts[role].dropped["not a number"]:
            like = _like(running, opened, i, reference.tag, values.NO_NUMBER, values.OPEN, values.SHUT)
            roles.setdefault(like, []).append(f"{role} {number}")
    return [f"texts that are no numbers{like}: {', '.join(listed)}" for like, listed in roles.items()]


def _like(running: engine.Engine, opened: Sequence[Source], position: int, tag: str, *kinds: int) -> str:
    """Some texts of a kind, as an example."""
    found = sorted({t for source in opened for t in load.texts(running, source, position, tag, kinds)})
    listed = ", ".join(f'"{text[:30]}"' for text in found[:3])
    return f", such as {listed}" if found else ""


def _useless(
    vessel: Vessel, running: engine.Engine, opened: Sequence[Source], tags: dict[str, Screened],
    counts: dict[str, Counts],
) -> list[str]:  # fmt: skip
    """What to look at where every value of a tag is none, for one reason: a sentence a reason."""
    by_reason: dict[str, list[int]] = {}
    for i, role in enumerate(vessel.tags):
        dropped = counts[role].dropped
        if not tags[role].numbers and (reasons := [r for r in _REMEDIES if dropped[r]]):
            by_reason.setdefault(max(reasons, key=lambda r: dropped[r]), []).append(i)
    listed = [reference.tag for reference in vessel.tags.values()]
    notes = []
    for reason, positions in by_reason.items():
        what, remedy = _REMEDIES[reason]
        like = ""
        if reason == values.KINDS[values.BAD_TEXT]:
            like = _like(running, opened, positions[0], listed[positions[0]], values.BAD_TEXT)
        names = ", ".join(listed[i] for i in positions)
        notes.append(f"every value of {names} {what}{like}: {remedy}")
    return notes


def _nothing(
    counts: dict[str, Counts], since: pd.Timestamp | None, until: pd.Timestamp | None, useless: list[str]
) -> str:
    if not any(c.read for c in counts.values()):
        limits = [
            f"{word} {t:%Y-%m-%d %H:%M}" for word, t in (("since", since), ("until", until)) if t is not None
        ]
        return f"the exports hold no reading {' '.join(limits) or 'at all'}. Widen the span or export more."
    reasons = sum((c.dropped for c in counts.values()), Counter())
    most = ", ".join(f"{n} {reason}" for reason, n in reasons.most_common(3))
    remedies = "; ".join(useless) or "look at the exports' times and values"
    return f"none of the readings can be used ({most}): {remedies}."
