"""A report of many kept results needs little memory for each of them."""

import dataclasses
from pathlib import Path

import made_scan
import pytest
from most_memory import most_memory

from sevenppb.detect import whole_file
from sevenppb.detect.errors import VesselFault
from sevenppb.detect.incidents.incident import FleetScan
from sevenppb.detect.scale import kept
from sevenppb.detect.settings import DEFAULTS
from sevenppb.reports import pdf, scan_files, sheet
from sevenppb.reports.views import each
from sevenppb.reports.views import scan as scan_views

FEW, MORE = 10, 40
ALLOWED = 20_000  # bytes a vessel, a fifth of what it has to tell


def test_another_vessel_costs_a_report_next_to_no_memory(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(each, "_STAY", 5)
    monkeypatch.setattr(sheet, "_TOGETHER", 5)
    monkeypatch.setattr(pdf, "MOST", 5)
    keep(tmp_path)
    report(tmp_path, 1)  # what is loaded and kept once doesn't count
    assert peak(tmp_path, MORE) - peak(tmp_path, FEW) < (MORE - FEW) * ALLOWED


def test_views_are_made_in_order_and_only_when_asked_for() -> None:
    made: list[str] = []

    def make(item: str) -> str:
        made.append(item)
        return f"view {item}"

    views = each.Each("abc", make)
    assert len(views) == 3
    assert made == []
    assert views[-1] == "view c"
    assert views[:2] == ["view a", "view b"]
    assert made == ["c", "a", "b"]
    assert list(views) == ["view a", "view b", "view c"]


def test_a_page_reads_no_vessel_that_it_does_not_show(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(scan_views, "SHOWN", 5)
    keep(tmp_path)
    files = made_of(tmp_path, FEW)
    for n in range(5, FEW):
        (tmp_path / f"V-{n}.parquet").unlink()
    page = made_scan.written(files["scan.html"]).decode("utf-8")
    assert page.count("Note 49 of") == 5
    with pytest.raises(VesselFault):  # as every file does that tells of all
        made_scan.written(files["incidents.json"])


def keep(folder: Path) -> None:
    """Results of vessels that have much to tell, and no incident."""
    vessel = made_scan.fleet_scan(days=100).vessels[2]
    for n in range(MORE):
        notes = tuple(f"Note {k} of V-{n}. " + "Told at length. " * 120 for k in range(50))
        told = dataclasses.replace(vessel, id=f"V-{n}", notes=notes)
        (folder / f"V-{n}.parquet").write_bytes(kept.encoded(told, "a stamp"))


def peak(folder: Path, count: int) -> int:
    """The most memory [bytes] that so many results and their report take."""
    return most_memory(lambda: report(folder, count))


def report(folder: Path, count: int) -> None:
    whole_file.put(folder, made_of(folder, count))


def made_of(folder: Path, count: int) -> dict[str, whole_file.Content]:
    """What writes the files of so many vessels."""
    vessels = tuple(kept.opened(folder / f"V-{n}.parquet") for n in range(count))
    scan = FleetScan("Many", "sevenppb 0.1.0", made_scan.START, made_scan.START, vessels, ())
    own = made_scan.fleet()
    described = tuple(dataclasses.replace(own.vessels[2], id=vessel.id) for vessel in vessels)
    fleet = dataclasses.replace(own, vessels=described)
    return scan_files.scan_files(made_scan.recorded(scan), fleet, DEFAULTS)
