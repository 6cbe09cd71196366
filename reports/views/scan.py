"""A scan for the reliability engineer: FleetScan → finished values. Nothing further on does arithmetic."""

import re
from collections.abc import Iterable
from dataclasses import dataclass, fields, replace

import pandas as pd

from sevenppb.detect.fleet import Fleet
from sevenppb.detect.incidents.incident import FleetScan, Incident
from sevenppb.detect.register.history import Life
from sevenppb.detect.register.store import Recorded
from sevenppb.detect.settings import Settings
from sevenppb.reports import numbers, words
from sevenppb.reports.numbers import Units
from sevenppb.reports.views import life
from sevenppb.reports.views.changes import ChangesView, changes_view
from sevenppb.reports.views.section import Section, anchor, section
from sevenppb.reports.views.table import Cell, figure, word
from sevenppb.reports.views.vessel import VesselView, vessel_view

PAGES = 12  # incidents with a page of their own: the file stays under 3 MB however many are found


@dataclass(frozen=True)
class Row:
    """One incident in the ranked table; `anchor` is its page's, None where it has none."""

    anchor: str | None
    rank: Cell
    vessel: Cell
    cause: Cell
    urgency: Cell
    confidence: Cell
    size: Cell
    onset: Cell
    limit: Cell
    state: Cell


@dataclass(frozen=True)
class SettingRow:
    """One threshold of the scan."""

    name: str
    value: str
    meaning: str


@dataclass(frozen=True)
class ScanView:
    """The whole page, in reading order."""

    fleet: str
    period: str
    tool: str
    lead: str
    changes: ChangesView | None
    rows: tuple[Row, ...]
    more: str | None
    filters: tuple[tuple[str, tuple[str, ...]], ...]
    sections: tuple[Section, ...]
    vessels: tuple[VesselView, ...]
    settings: tuple[SettingRow, ...]


def scan_view(recorded: Recorded, fleet: Fleet, settings: Settings) -> ScanView:
    """All that the page shows, in the fleet's display units."""
    scan = recorded.scan
    units = {row.id: Units(fleet.display, row.barometer) for row in fleet.vessels}
    by_id = {vessel.id: vessel for vessel in scan.vessels}
    described = {row.id: row for row in fleet.vessels}
    rows = tuple(
        _row(incident, units[incident.vessel], has_page=n < PAGES)
        for n, incident in enumerate(scan.incidents)
    )
    failed = sum(1 for vessel in scan.vessels if vessel.state != "scanned")
    return ScanView(
        fleet=scan.fleet,
        period=period(scan),
        tool=scan.tool,
        lead=words.lead(scan.incidents, len(scan.vessels) - failed, failed),
        changes=None
        if recorded.changes is None
        else changes_view(recorded.changes, recorded.lives, scan.incidents, units, fleet.timezone),
        rows=rows,
        more=_more(len(scan.incidents) - PAGES),
        filters=(
            ("Vessel", _choices(row.vessel.text for row in rows)),
            ("Cause", _choices(row.cause.text for row in rows)),
            ("State", _choices(row.state.text for row in rows)),
        ),
        sections=tuple(
            _with_life(
                section(
                    by_id[row.vessel], row, described[row.vessel], fleet.cost, units[row.vessel], scan.until
                ),
                recorded.lives.get(row.id),
                row,
                units[row.vessel],
                fleet.timezone,
            )
            for row in scan.incidents[:PAGES]
        ),
        vessels=tuple(
            vessel_view(vessel, n, units[vessel.id]) for n, vessel in enumerate(scan.vessels, start=1)
        ),
        settings=tuple(replace(row, meaning=row.meaning.replace("`", "")) for row in setting_rows(settings)),
    )


def _with_life(found: Section, told: Life | None, incident: Incident, units: Units, timezone: str) -> Section:
    return (
        found
        if told is None
        else replace(found, facts=found.facts + life.facts(told, incident, units, timezone))
    )


def period(scan: FleetScan) -> str:
    """The days read; a sentence where no vessel gave any."""
    if scan.start is None or scan.until is None:
        return "no readings in the period"
    return words.days(scan.start, scan.until)


def setting_rows(settings: Settings) -> tuple[SettingRow, ...]:
    """Every setting with the meaning that its own record states."""
    meanings: dict[str, str] = {}
    name = ""
    for line in (Settings.__doc__ or "").splitlines():
        entry = re.match(r"\s{4}(\w+)\s{2,}(\S.*)", line)
        if entry:
            name = entry[1]
            meanings[name] = entry[2].strip()
        elif name and line.strip():
            meanings[name] += " " + line.strip()
    return tuple(
        SettingRow(
            field.name.replace("_", " "), f"{getattr(settings, field.name)}", meanings.get(field.name, "")
        )
        for field in fields(settings)
    )


def _row(incident: Incident, units: Units, *, has_page: bool) -> Row:
    found = incident.magnitude
    reached = incident.limit_reached
    return Row(
        anchor=anchor(incident) if has_page else None,
        rank=figure(str(incident.rank), incident.rank),
        vessel=word(incident.vessel),
        cause=word(words.cause(incident.cause, incident.role)),
        urgency=figure(numbers.number(incident.urgency, 2), incident.urgency),
        confidence=figure(numbers.percent(incident.confidence), incident.confidence),
        size=figure(words.magnitude(incident, units), abs(found.value)),
        onset=_moment(incident.onset),
        limit=_moment(reached.at if reached else None),
        state=word(incident.state),
    )


def _more(left: int) -> str | None:
    """How to see the incidents that have no page."""
    if left <= 0:
        return None
    return (
        f"The {PAGES} most urgent have a page below. For those of one vessel among the other {left}, run "
        '"sevenppb scan FLEET --vessel ID --out FOLDER"; incidents.json and incidents.csv hold all.'
    )


def _moment(moment: pd.Timestamp | None) -> Cell:
    """Days sort as days; none sorts last."""
    return Cell(words.day(moment), "9999" if moment is None else moment.strftime("%Y-%m-%d"))


def _choices(values: Iterable[str]) -> tuple[str, ...]:
    return tuple(sorted(set(values)))
