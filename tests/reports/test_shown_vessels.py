"""Of a large fleet a report shows some vessels: those with told incidents, those that failed, then others."""

import dataclasses
import json
import re

import made_scan
import pytest
from test_scan_files import words_of

from sevenppb.detect.incidents.incident import FleetScan
from sevenppb.detect.settings import DEFAULTS
from sevenppb.reports import pdf, scan_files
from sevenppb.reports.views import scan as scan_views

NOTE = "incidents.json holds every vessel's coverage and notes"


def large() -> FleetScan:
    """V-1 to V-8: the most urgent incident at V-7, another at V-4, and V-6 failed."""
    healthy = made_scan.fleet_scan(days=100).vessels[2]
    vessels = [dataclasses.replace(healthy, id=f"V-{n}") for n in range(1, 9)]
    vessels[5] = made_scan.broken_vessel("V-6")
    incidents = (made_scan.incident(1, "V-7"), made_scan.incident(2, "V-4"))
    for found in incidents:
        n = int(found.vessel[2:]) - 1
        vessels[n] = dataclasses.replace(vessels[n], incidents=(found,))
    return FleetScan("Many", "sevenppb 0.1.0", made_scan.START, made_scan.START, tuple(vessels), incidents)


def made(name: str) -> bytes:
    scan = large()
    own = made_scan.fleet()
    described = tuple(dataclasses.replace(own.vessels[2], id=vessel.id) for vessel in scan.vessels)
    fleet = dataclasses.replace(own, vessels=described)
    files = scan_files.scan_files(made_scan.recorded(scan), fleet, DEFAULTS)
    return made_scan.written(files[name])


def shown(page: str, part: str) -> list[tuple[str, str]]:
    """(number in the fleet, vessel) in the order of the page."""
    return re.findall(rf'<h3 id="vessel-(\d+)-{part}">(V-\d+)', page)


@pytest.mark.parametrize(
    ("room", "told", "expected"),
    [
        (1, 2, "7"),
        (2, 2, "47"),
        (3, 2, "467"),
        (5, 2, "12467"),
        (3, 1, "167"),  # an incident without a section gives its vessel no place
        (8, 2, "12345678"),
    ],
)
def test_the_page_shows_the_most_telling_vessels_in_the_fleets_order(
    monkeypatch: pytest.MonkeyPatch, room: int, told: int, expected: str
) -> None:
    monkeypatch.setattr(scan_views, "SHOWN", room)
    monkeypatch.setattr(scan_views, "TOLD", told)
    page = made("scan.html").decode("utf-8")
    numbered = [(n, f"V-{n}") for n in expected]
    assert shown(page, "coverage") == shown(page, "data") == numbered
    notes = re.findall(r'<p class="note">(\d of \d vessels are shown here)', page)
    assert notes == ([] if room == 8 else [f"{room} of 8 vessels are shown here"] * 2)


def test_paper_chooses_as_the_page_does(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(scan_views, "SHOWN", 5)
    monkeypatch.setattr(pdf, "MOST", 3)
    text = words_of(made("scan.pdf"))
    assert re.findall(r"(V-\d): (?:scanned|failed)", text) == ["V-4", "V-6", "V-7"]
    assert text.count("3 of 8 vessels are shown here") == 2
    assert "This PDF tells of at most 3 incidents and 3 vessels; scan.html tells of more." in text


def test_the_files_for_programs_hold_what_the_note_promises(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(scan_views, "SHOWN", 1)
    assert NOTE in made("scan.html").decode("utf-8").replace("&#39;", "'")
    vessels = json.loads(made("incidents.json"))["vessels"]
    assert [(row["id"], len(row["coverage"]), len(row["notes"])) for row in vessels] == [
        (vessel.id, len(vessel.coverage), len(vessel.notes)) for vessel in large().vessels
    ]
