"""A vessel with a winter's baseline in a fleet of others that have seen the year: who lends, to whom, and that it is
the same however the fleet is scanned."""

import shutil
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest
import small_fleet

from sevenppb.detect import fleet_scan, vessel_scan
from sevenppb.detect.fleet import Fleet
from sevenppb.detect.incidents.incident import FleetScan, VesselScan

BORROWER = "DA-4"
WINTER = (pd.Timestamp("2023-11-01", tz="UTC"), pd.Timestamp("2024-01-14 23:59", tz="UTC"))


@pytest.fixture(scope="module")
def fleet(tmp_path_factory: pytest.TempPathFactory) -> Fleet:
    """Three vessels whose baseline is 2023, and one whose baseline is the winter at its end."""
    made = small_fleet.written(tmp_path_factory.mktemp("lent"), vessels=4, days=400)
    vessels = [replace(v, baseline=pd.Timedelta(days=365), work=()) for v in made.vessels[:3]]
    return replace(made, vessels=(*vessels, replace(made.vessels[3], baseline=WINTER, work=())))


@pytest.fixture(scope="module")
def kept(fleet: Fleet, tmp_path_factory: pytest.TempPathFactory) -> tuple[FleetScan, Path]:
    keep = tmp_path_factory.mktemp("kept")
    return fleet_scan.scan(fleet, keep=keep), keep


def borrower(found: FleetScan) -> VesselScan:
    return next(vessel for vessel in found.vessels if vessel.id == BORROWER)


def test_the_report_says_whose_season_is_expected(kept: tuple[FleetScan, Path]) -> None:
    vessels = {vessel.id: vessel for vessel in kept[0].vessels}
    assert [name for name, vessel in vessels.items() if vessel.lent] == ["DA-1", "DA-2", "DA-3"]
    told = [note for note in vessels[BORROWER].notes if "has not seen a year" in note]
    assert len(told) == 1
    assert told[0].endswith("is expected as on DA-1, DA-2, DA-3")
    assert not [note for note in vessels["DA-1"].notes if "has not seen a year" in note]


def test_alone_or_with_others_on_one_processor_or_two(fleet: Fleet, kept: tuple[FleetScan, Path]) -> None:
    alone = fleet_scan.scan(fleet, vessels=(BORROWER,), workers=2)
    assert [vessel.id for vessel in alone.vessels] == [BORROWER]
    pd.testing.assert_frame_equal(borrower(alone).daily, borrower(kept[0]).daily, check_freq=False)
    assert borrower(alone).notes == borrower(kept[0]).notes


def test_on_a_cluster(fleet: Fleet, kept: tuple[FleetScan, Path], request: pytest.FixtureRequest) -> None:
    pytest.importorskip("distributed")
    address, _, _ = request.getfixturevalue("cluster_of_two")
    found = fleet_scan.scan(fleet, cluster=address)
    pd.testing.assert_frame_equal(borrower(found).daily, borrower(kept[0]).daily, check_freq=False)
    assert borrower(found).notes == borrower(kept[0]).notes


def test_nothing_is_scanned_again_until_a_lender_says_something_else(
    fleet: Fleet, kept: tuple[FleetScan, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen: list[str] = []
    real = vessel_scan.scan_vessel

    def counted(vessel, *rest, **named):  # type: ignore[no-untyped-def]
        seen.append(vessel.id)
        return real(vessel, *rest, **named)

    monkeypatch.setattr(vessel_scan, "scan_vessel", counted)
    keep = shutil.copytree(kept[1], tmp_path / "kept")  # other tests still read the days of the first scan
    fleet_scan.scan(fleet, keep=keep)
    assert seen == []
    other = replace(fleet.vessels[0], baseline=pd.Timedelta(days=360))
    fleet_scan.scan(replace(fleet, vessels=(other, *fleet.vessels[1:])), keep=keep)
    assert seen == ["DA-1", BORROWER]


def test_a_year_that_ends_after_the_winter_lends_nothing(fleet: Fleet, kept: tuple[FleetScan, Path]) -> None:
    """Its season was not known when the watch began."""
    late = tuple(replace(v, baseline=pd.Timedelta(days=390)) for v in fleet.vessels[:3])
    found = fleet_scan.scan(replace(fleet, vessels=(*late, fleet.vessels[3])))
    assert all(vessel.lent for vessel in found.vessels[:3])
    assert not [note for note in borrower(found).notes if "has not seen a year" in note]
    last = borrower(found).daily
    assert not last["expected_subcooling"].equals(borrower(kept[0]).daily["expected_subcooling"])


def test_a_fleet_replayed_to_any_day_says_the_same(fleet: Fleet, kept: tuple[FleetScan, Path]) -> None:
    """Whatever the lenders read after that day."""
    cut = pd.Timestamp("2024-01-25", tz="UTC")
    replayed = borrower(fleet_scan.scan(fleet, until=cut - pd.Timedelta(microseconds=1))).daily
    whole = borrower(kept[0]).daily.loc[: cut - pd.Timedelta(days=1)]
    charts = [name for name in replayed if name.startswith("chart_")]
    assert len(charts) > 10
    assert replayed[charts].notna().any().all()
    pd.testing.assert_frame_equal(replayed[charts], whole[charts], check_freq=False)
