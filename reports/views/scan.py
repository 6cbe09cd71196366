"""A scan for the reliability engineer: FleetScan → finished values. Nothing further on does arithmetic."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields, replace

import pandas as pd

from sevenppb.detect.fleet import Fleet
from sevenppb.detect.incidents.incident import FleetScan, Incident
from sevenppb.detect.register.history import Life
from sevenppb.detect.register.store import Recorded
from sevenppb.detect.settings import Settings
from sevenppb.reports import numbers, words
from sevenppb.reports.likely import is_told
from sevenppb.reports.numbers import Units
from sevenppb.reports.views import life
from sevenppb.reports.views.changes import ChangesView, changes_view
from sevenppb.reports.views.each import Each
from sevenppb.reports.views.section import Section, anchor, section
from sevenppb.reports.views.table import Cell, figure, word
from sevenppb.reports.views.vessel import CoverageView, ReadingsView, coverage_view, readings_view

# With as many vessels and incidents as are told of, the file has 5 MB; from then on it grows by an incident's row.
TOLD = 200  # incidents with a section
SHOWN = TOLD  # vessels with coverage and readings: room for all that have such an incident
DRAWN, DRAWN_OF_MANY = 12, 6  # those with drawings, which take fifty times the room of words
MANY = 36  # incidents
METHOD = (
    "Each vessel's baseline fits a heat, mass and oxygen balance to its own readings, and a seasonal model to "
    "what the balance leaves over. Later readings are compared with what both expect under the same load, "
    "weather and season. A change is reported when cumulative sums of the differences, taken singly and along "
    "the direction in which each cause would move them, pass thresholds set from the allowed number of false "
    "alarms. The cause is the one whose expected move lies closest to the found one; where none does, the "
    "change stays unexplained."
)


@dataclass(frozen=True)
class Row:
    """One incident in the ranked table; `anchor` is its section's, None where it has none; `kind`, by which rows are
    chosen, its cause or that it is not told."""

    anchor: str | None
    kind: str
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
    """The whole page, in reading order. What it says of each vessel is made as it is read. `first` are places of
    `coverage` and `readings`: where there is room for few, the first few of these; `vessels`, all there are."""

    fleet: str
    period: str
    tool: str
    lead: str
    changes: ChangesView | None
    rows: tuple[Row, ...]
    more: str | None
    filters: tuple[tuple[str, tuple[str, ...]], ...]
    sections: tuple[Section, ...]
    coverage: Sequence[CoverageView]
    readings: Sequence[ReadingsView]
    vessels: int
    first: tuple[int, ...]
    omitted: str | None
    method: str
    settings: tuple[SettingRow, ...]


def scan_view(recorded: Recorded, fleet: Fleet, settings: Settings) -> ScanView:
    """All that the page shows, in the fleet's display units."""
    scan = recorded.scan
    units = {row.id: Units(fleet.display, row.barometer) for row in fleet.vessels}
    by_id = {vessel.id: vessel for vessel in scan.vessels}
    described = {row.id: row for row in fleet.vessels}
    rows = tuple(
        _row(incident, units[incident.vessel], has_section=n < TOLD)
        for n, incident in enumerate(scan.incidents)
    )
    drawn = _drawn(len(scan.incidents))
    failed = sum(1 for vessel in scan.vessels if vessel.state != "scanned")
    most_telling = _most_telling(scan)[:SHOWN]
    shown = sorted(most_telling)
    return ScanView(
        fleet=scan.fleet,
        period=period(scan, fleet.timezone),
        tool=scan.tool,
        lead=words.lead(scan.incidents, len(scan.vessels) - failed, failed, units),
        changes=None
        if recorded.changes is None
        else changes_view(recorded.changes, recorded.lives, scan.incidents, units, fleet.timezone),
        rows=rows,
        more=_more(len(scan.incidents)),
        filters=(
            ("Vessel", _choices(row.vessel.text for row in rows)),
            ("Cause", _choices(row.kind for row in rows)),
            ("State", _choices(row.state.text for row in rows)),
        ),
        sections=tuple(
            _with_life(
                section(
                    by_id[row.vessel],
                    row,
                    described[row.vessel],
                    fleet.cost,
                    units[row.vessel],
                    scan.until,
                    drawn=n < drawn,
                ),
                recorded.lives.get(row.id),
                row,
                by_id[row.vessel].daily,
                units[row.vessel],
                fleet.timezone,
            )
            for n, row in enumerate(scan.incidents[:TOLD])
        ),
        coverage=Each(shown, lambda n: coverage_view(scan.vessels[n], n + 1, units[scan.vessels[n].id])),
        readings=Each(
            shown,
            lambda n: readings_view(scan.vessels[n], n + 1, units[scan.vessels[n].id], fleet.timezone),
        ),
        vessels=len(scan.vessels),
        first=tuple(map(shown.index, most_telling)),
        omitted=omitted(len(shown), len(scan.vessels)),
        method=METHOD,
        settings=tuple(replace(row, meaning=row.meaning.replace("`", "")) for row in setting_rows(settings)),
    )


def omitted(shown: int, vessels: int) -> str | None:
    """How many of so many vessels are told of by themselves, and where the others are; None where all are."""
    if shown == vessels:
        return None
    return (
        f"{numbers.number(shown, 0)} of {numbers.number(vessels, 0)} vessels are shown here, first of all those with "
        "an incident in a section above, then those that could not be scanned; incidents.json holds every vessel's "
        "coverage and notes."
    )


def _most_telling(scan: FleetScan) -> list[int]:
    """Places of all vessels: those with a told incident in the incidents' order, then those that could not be scanned,
    then the rest."""
    places = {vessel.id: n for n, vessel in enumerate(scan.vessels)}
    told = [places[incident.vessel] for incident in scan.incidents[:TOLD]]
    failed = [n for n, vessel in enumerate(scan.vessels) if vessel.state != "scanned"]
    return list(dict.fromkeys((*told, *failed, *places.values())))


def _with_life(
    found: Section,
    told: Life | None,
    incident: Incident,
    daily: pd.DataFrame,
    units: Units,
    timezone: str,
) -> Section:
    if told is None:
        return found
    return replace(found, facts=found.facts + life.facts(told, incident, daily, units, timezone))


def period(scan: FleetScan, timezone: str) -> str:
    """The days read, by the plant's own clock; a sentence where no vessel gave any."""
    if scan.start is None or scan.until is None:
        return "no readings in the period"
    return words.days(scan.start.tz_convert(timezone), scan.until.tz_convert(timezone))


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


def _row(incident: Incident, units: Units, *, has_section: bool) -> Row:
    found = incident.magnitude
    reached = incident.limit_reached
    return Row(
        anchor=anchor(incident) if has_section else None,
        kind=words.cause(incident.cause, incident.role) if is_told(incident) else words.UNTOLD,
        rank=figure(str(incident.rank), incident.rank),
        vessel=word(incident.vessel),
        cause=word(words.title(incident, units)),
        urgency=figure(numbers.number(incident.urgency, 2), incident.urgency),
        confidence=figure(numbers.percent(incident.confidence), incident.confidence),
        size=figure(words.magnitude(incident, units), abs(found.value)),
        onset=_moment(incident.onset),
        limit=_moment(reached.at if reached else None),
        state=word(incident.state),
    )


def _drawn(count: int) -> int:
    """How many of so many incidents have drawings."""
    return DRAWN if count <= MANY else DRAWN_OF_MANY


def _more(count: int) -> str | None:
    """What is left out of some incidents' sections, and how to see it."""
    drawn = _drawn(count)
    if count <= drawn:
        return None
    told = f"The first {TOLD} have a section below, and the" if count > TOLD else "The"
    return (
        f"{told} first {drawn} are drawn. To see all of one vessel's, scan it by itself: "
        '"sevenppb scan FLEET --vessel ID --out FOLDER". incidents.json and incidents.csv hold every incident.'
    )


def _moment(moment: pd.Timestamp | None) -> Cell:
    """Days sort as days; none sorts last."""
    return Cell(words.day(moment), "9999" if moment is None else moment.strftime("%Y-%m-%d"))


def _choices(values: Iterable[str]) -> tuple[str, ...]:
    return tuple(sorted(set(values)))
