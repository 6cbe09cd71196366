"""One vessel as finished text: how it was scanned, what its tags can show, what became of its readings."""

from dataclasses import dataclass

import pandas as pd

from sevenppb.detect.causes import CAUSES
from sevenppb.detect.incidents.incident import Coverage, VesselScan
from sevenppb.reports import numbers, words
from sevenppb.reports.numbers import Units
from sevenppb.reports.views import health
from sevenppb.reports.views.health import ParameterCell
from sevenppb.reports.views.shown import ShownRow, shown_rows

STATES = {"scanned": "scanned", "too-little-data": "too little data", "failed": "failed"}


@dataclass(frozen=True)
class CoverageRow:
    """What the vessel's tags can show of one cause."""

    cause: str
    visible: str
    smallest: str
    confusable: str
    missing: str


@dataclass(frozen=True)
class QualityRow:
    """One role's raw values by what became of them, in the order of the table's heads."""

    role: str
    read: str
    counts: tuple[str, ...]


@dataclass(frozen=True)
class CoverageView:
    """How a vessel was scanned, and what its tags can show."""

    anchor: str
    id: str
    state: str
    error: str | None
    rows: tuple[CoverageRow, ...]


@dataclass(frozen=True)
class ReadingsView:
    """What became of a vessel's readings. `facts` are (label, text) pairs, `health` (parameter, cell) and `marks`
    (reason, hours) pairs."""

    anchor: str
    id: str
    facts: tuple[tuple[str, str], ...]
    health: tuple[tuple[str, ParameterCell], ...]
    shown: tuple[ShownRow, ...]
    quality_heads: tuple[str, ...]
    quality: tuple[QualityRow, ...]
    marks: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]


def coverage_view(vessel: VesselScan, position: int, units: Units) -> CoverageView:
    """What the page says about what could be seen at a vessel, the fleet's `position`th."""
    return CoverageView(
        anchor=f"vessel-{position}-coverage",
        id=vessel.id,
        state=STATES[vessel.state],
        error=vessel.error,
        rows=tuple(_coverage_row(row, units) for row in vessel.coverage),
    )


def readings_view(vessel: VesselScan, position: int, units: Units, timezone: str) -> ReadingsView:
    """What the page says about a vessel's readings; their span by the clock of `timezone`."""
    reasons = tuple(str(name) for name in vessel.tally.columns)
    return ReadingsView(
        anchor=f"vessel-{position}-data",
        id=vessel.id,
        facts=_facts(vessel, timezone),
        health=_health(vessel, units),
        shown=shown_rows(vessel, units),
        quality_heads=reasons,
        quality=tuple(
            QualityRow(words.feature(str(role)), numbers.number(sum(counts), 0), tuple(map(_count, counts)))
            for role, *counts in vessel.tally.itertuples(name=None)
        ),
        marks=tuple(
            (reason, numbers.number(hours, 0))
            for reason, hours in sorted(vessel.marks.items(), key=lambda item: -item[1])
        ),
        notes=tuple(words.plain(note) for note in vessel.notes),
    )


def _health(vessel: VesselScan, units: Units) -> tuple[tuple[str, ParameterCell], ...]:
    names = health.parameters([vessel])
    cells = health.at_baseline(vessel, names, units).cells
    return tuple((health.LABELS[name], cell) for name, cell in zip(names, cells, strict=True))


def _facts(vessel: VesselScan, timezone: str) -> tuple[tuple[str, str], ...]:
    facts = [
        ("Readings", numbers.number(vessel.readings, 0)),
        ("Usable", f"{numbers.percent(vessel.usable)} of the hours: with readings, and steady"),
        ("Running", f"{numbers.number(vessel.hours_running, 0)} h"),
    ]
    if vessel.span is not None:
        facts.append(("Span", words.days(*(moment.tz_convert(timezone) for moment in vessel.span))))
    if vessel.baseline is not None:
        first, after = vessel.baseline
        facts.append(("Baseline", words.days(first, after - pd.Timedelta(days=1))))
    return tuple(facts)


def _coverage_row(row: Coverage, units: Units) -> CoverageRow:
    unit = CAUSES[row.cause].unit
    return CoverageRow(
        cause=words.cause(row.cause, None),
        visible="yes" if row.visible else "no",
        smallest=numbers.amount(row.smallest, unit, units),
        confusable=words.listed(tuple(words.look_alike(name) for name in row.confusable_with)),
        missing=words.listed(tuple(words.feature(role) for role in row.missing_roles)),
    )


def _count(value: float) -> str:
    return numbers.number(value, 0) if value else numbers.NONE
