"""What changed since the last scan, as the register tells it."""

from collections.abc import Mapping
from dataclasses import dataclass

from sevenppb.detect.incidents.incident import Incident
from sevenppb.detect.register.history import Changed, Changes, Life
from sevenppb.reports import words
from sevenppb.reports.numbers import Units
from sevenppb.reports.views import life

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
            line = f"{row.id}: {_named(row, by_id)}"
            if kind in _SIZED and row.id in by_id:
                line += f", {words.magnitude(by_id[row.id], units[row.vessel])}"
            if kind == "worsening":
                line += life.size_before(lives[row.id], by_id[row.id], units[row.vessel], timezone)
            if kind == "eased" and row.id in by_id and by_id[row.id].ended is not None:
                line += f", {words.ended(by_id[row.id])}"
            lines.append(line)
        if lines:
            groups.append(Group(label, tuple(lines)))
    renamed = tuple(
        f"{row.id}: {words.named(row)}; before that {words.cause(*before)}"
        for row in incidents
        for before in life.cause_before(lives[row.id], row)
    )
    if renamed:
        groups.append(Group("Told as another cause", renamed))
    closed = tuple(
        f"{told.id}: {words.cause(told.found.cause, told.found.role)}, {life.day(act.at, timezone)} by {act.author}"
        for told in lives.values()
        for act in told.acts
        if act.event == "closed" and act.at >= found.since
    )
    if closed:
        groups.append(Group("Closed", closed))
    heading = f"Since the scan of {life.day(found.since, timezone)}"
    if found.until is not None:
        heading += f", which read to {life.day(found.until, timezone)}"
    return ChangesView(heading, tuple(groups))


def _named(row: Changed, there: Mapping[str, Incident]) -> str:
    """By this scan's doubts, where it found the incident."""
    return words.named(there[row.id]) if row.id in there else words.cause(row.found.cause, row.found.role)
