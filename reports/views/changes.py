"""What the register adds to a scan's report: changes since the last scan, and an incident's life so far."""

from collections.abc import Mapping
from dataclasses import dataclass

import pandas as pd

from sevenppb.detect.causes import CAUSES
from sevenppb.detect.incidents.incident import Incident
from sevenppb.detect.register.history import Changed, Changes, Life
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
            lines.append(line)
        if lines:
            groups.append(Group(label, tuple(lines)))
    heading = f"Since the scan of {_day(found.since, timezone)}"
    if found.until is not None:
        heading += f", which read to {words.day(found.until)}"
    return ChangesView(heading, tuple(groups))


def life_facts(life: Life, timezone: str) -> tuple[tuple[str, str], ...]:
    """An incident's first listing, what people said of it, and the work that could have mended it."""
    facts = [("First listed", f"by the scan of {_day(life.seen[0].recorded, timezone)}")]
    for act in life.acts:
        what = "closed" if act.event == "closed" else act.text
        facts.append(("Note", f"{_day(act.at, timezone)}, {act.author}: {what}"))
    facts += [("Work since", f"{_day(work.date, timezone)}: {work.what}") for work in life.work]
    return tuple(facts)


def _size_before(life: Life, units: Units, timezone: str) -> str:
    """The size at the last scan before this one that measured the same thing."""
    now = life.found
    if now.cause == "sensor-stuck":  # its value is no size
        return ""
    signed = CAUSES[now.cause].parameter is None
    for seen in reversed(life.seen[:-1]):
        earlier = seen.found
        if earlier is not None and (earlier.what, earlier.unit) == (now.what, now.unit):
            size = numbers.amount(earlier.value, earlier.unit, units, signed=signed)
            return f"; {size} at the scan of {_day(seen.recorded, timezone)}"
    return ""


def _day(moment: pd.Timestamp, timezone: str) -> str:
    return words.day(moment.tz_convert(timezone))
