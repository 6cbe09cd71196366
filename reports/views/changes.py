"""What the register adds to a scan's report: changes since the last scan, and an incident's life so far."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import pandas as pd

from sevenppb.detect.causes import CAUSES
from sevenppb.detect.incidents.incident import Incident
from sevenppb.detect.register.finding import Finding
from sevenppb.detect.register.history import Changed, Changes, Life, Seen
from sevenppb.reports import numbers, words
from sevenppb.reports.numbers import Units

_KINDS = (
    ("new", "New"),
    ("worsening", "Worsening"),
    ("returned", "There again"),
    ("eased", "Eased"),
    ("gone", "No longer found"),
    ("unseen", "Open before, and not visible to this scan"),
)
MOST_SIZES = 4
_SIZED = ("new", "worsening", "returned")


@dataclass(frozen=True)
class Group:
    """One kind of change: its label, and a line an incident."""

    label: str
    lines: tuple[str, ...]


@dataclass(frozen=True)
class ChangesView:
    """The section on what changed; no group where nothing did."""

    heading: str
    groups: tuple[Group, ...]


def changes_view(
    found: Changes,
    lives: Mapping[str, Life],
    incidents: tuple[Incident, ...],
    units: Mapping[str, Units],
    timezone: str,
) -> ChangesView:
    """Changes in words; a grown incident beside its size at the scan before."""
    by_id = {incident.id: incident for incident in incidents}
    groups = []
    for kind, label in _KINDS:
        rows: tuple[Changed, ...] = getattr(found, kind)
        lines = []
        for row in rows:
            line = f"{row.id}: {words.cause(row.found.cause, row.found.role)}"
            if kind in _SIZED and row.id in by_id:
                line += f", {words.magnitude(by_id[row.id], units[row.vessel])}"
            if kind == "worsening":
                line += _size_before(lives[row.id], units[row.vessel], timezone)
            if kind == "eased" and row.found.ended is not None:
                line += f", ended {words.day(row.found.ended)}"
            lines.append(line)
        if lines:
            groups.append(Group(label, tuple(lines)))
    renamed = tuple(
        f"{life.id}: {words.cause(*now)}; before that {words.cause(*then)}"
        for life in lives.values()
        if life.id in by_id
        for then, now in [_last_two_causes(life)]
        if then != now
    )
    if renamed:
        groups.append(Group("Told as another cause", renamed))
    closed = tuple(
        f"{life.id}: {words.cause(life.found.cause, life.found.role)}, {_day(act.at, timezone)} by {act.author}"
        for life in lives.values()
        for act in life.acts
        if act.event == "closed" and act.at >= found.since
    )
    if closed:
        groups.append(Group("Closed", closed))
    heading = f"Since the scan of {_day(found.since, timezone)}"
    if found.until is not None:
        heading += f", which read to {_day(found.until, timezone)}"
    return ChangesView(heading, tuple(groups))


def life_facts(life: Life, units: Units, timezone: str) -> tuple[tuple[str, str], ...]:
    """An incident's first listing, what earlier scans said of it and people too, and the work that could have mended
    it."""
    first = life.seen[0]
    listed = f"by the scan of {_day(first.recorded, timezone)}{_read_to(first, timezone, ', which read to')}"
    facts = [("First listed", listed)]
    if earlier := _earlier_causes(life, timezone):
        facts.append(("Told before as", "; ".join(earlier)))
    if sizes := _earlier_sizes(life, units, timezone):
        facts.append(("Earlier sizes", ", ".join(sizes[-MOST_SIZES:])))
    for act in life.acts:
        said = "by " + act.author if act.event == "closed" else f"{act.author}: {act.text}"
        facts.append(("Closed" if act.event == "closed" else "Note", f"{_day(act.at, timezone)}, {said}"))
    facts += [("Work since", f"{_day(work.date, timezone)}: {work.what}") for work in life.work]
    return tuple(facts)


def _last_two_causes(life: Life) -> tuple[tuple[str, str | None], tuple[str, str | None]]:
    """What the scan before told it as, and what the latest does; the same twice where only one found it."""
    told = [(seen.found.cause, seen.found.role) for seen in life.seen if seen.found is not None]
    return told[-2:][0], told[-1]


def _earlier_causes(life: Life, timezone: str) -> list[str]:
    """Causes that earlier scans named and the latest does not, each with the last scan that did."""
    now = (life.found.cause, life.found.role)
    last: dict[tuple[str, str | None], Seen] = {}
    for seen in life.seen:
        if seen.found is not None and (seen.found.cause, seen.found.role) != now:
            last[seen.found.cause, seen.found.role] = seen
    return [
        f"{words.cause(*told)}{_read_to(seen, timezone, ' by readings to')}" for told, seen in last.items()
    ]


def _earlier_sizes(life: Life, units: Units, timezone: str) -> list[str]:
    """What scans before the latest one measured of the same thing; nothing where it always was as now."""
    now = life.found
    if now.cause == "sensor-stuck":  # its value is no size
        return []
    sizes = [
        (_size(seen.found, units), seen)
        for seen in life.seen[:-1]
        if seen.found is not None and (seen.found.what, seen.found.unit) == (now.what, now.unit)
    ]
    if all(size == _size(now, units) for size, _ in sizes):
        return []
    return [f"{size}{_read_to(seen, timezone, ' by readings to')}" for size, seen in sizes]


def _size(found: Finding, units: Units) -> str:
    """Without its interval, but no more precise than that."""
    value, low, high = (math.nan if end is None else end for end in (found.value, found.low, found.high))
    signed = CAUSES[found.cause].parameter is None
    return numbers.estimate(value, low, high, found.unit, units, signed=signed)[0]


def _size_before(life: Life, units: Units, timezone: str) -> str:
    """The size at the last scan before this one that measured the same thing."""
    sizes = _earlier_sizes(life, units, timezone)
    return f"; before that {sizes[-1]}" if sizes else ""


def _read_to(seen: Seen, timezone: str, words_before: str) -> str:
    return "" if seen.until is None else f"{words_before} {_day(seen.until, timezone)}"


def _day(moment: pd.Timestamp, timezone: str) -> str:
    return words.day(moment.tz_convert(timezone))
