"""What is kept of a scan, and when it is taken in place of another one."""

import dataclasses
import os
import shutil
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
import small_fleet

from sevenppb.detect import fleet_scan, vessel_scan
from sevenppb.detect.errors import VesselFault
from sevenppb.detect.exports import read
from sevenppb.detect.fleet import Cost, Fleet
from sevenppb.detect.incidents.incident import FleetScan, VesselScan
from sevenppb.detect.scale import kept, stamp, vessel_task

Kept = tuple[FleetScan, Path]


def equal(one: VesselScan, other: VesselScan) -> None:
    """NaN equals NaN, and each field keeps its types."""
    names = [field.name for field in dataclasses.fields(VesselScan) if field.name not in ("daily", "tally")]
    assert [repr(getattr(one, name)) for name in names] == [repr(getattr(other, name)) for name in names]
    pd.testing.assert_frame_equal(one.daily, other.daily, check_freq=False)
    pd.testing.assert_frame_equal(one.tally, other.tally)


@pytest.fixture
def scanned(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The vessels that are really scanned, in turn."""
    seen: list[str] = []
    real = vessel_scan.scan_vessel

    def counted(vessel: Any, *rest: Any, **named: Any) -> VesselScan:
        seen.append(vessel.id)
        return real(vessel, *rest, **named)

    monkeypatch.setattr(vessel_scan, "scan_vessel", counted)
    return seen


@pytest.fixture
def mine(written_fleet: Fleet, kept_scan: Kept, tmp_path: Path) -> tuple[Fleet, Path]:
    """Copies of the fleet's folder and of what is kept, free to be changed: at another place nothing holds, so
    it is scanned once."""
    shutil.copytree(written_fleet.path.parent, tmp_path / "fleet")
    place = tmp_path / "fleet" / written_fleet.path.name
    fleet = small_fleet.read_fleet(place)
    only = dataclasses.replace(fleet, vessels=fleet.vessels[:1])
    fleet_scan.scan(only, keep=tmp_path / "kept")
    return only, tmp_path / "kept"


def test_a_result_reads_back_as_it_was(written_fleet: Fleet, kept_scan: Kept) -> None:
    vessel = written_fleet.vessels[1]
    direct = vessel_scan.scan_vessel(
        vessel, read.read_vessel(vessel, written_fleet, None, None), written_fleet.cost
    )
    assert direct.coverage
    equal(kept.decoded(kept.encoded(direct, "x")), direct)
    equal(kept_scan[0].vessels[1], direct)


def test_incidents_read_back_too(tmp_path: Path, scan_of: Any) -> None:
    found = scan_of("choked-vent")
    assert found.incidents
    assert any(row.limit_reached or row.alternatives for row in found.incidents)
    equal(kept.decoded(kept.encoded(found, "x")), found)


def test_days_stay_in_the_file_even_with_other_incidents(kept_scan: Kept) -> None:
    one = kept.changed(kept_scan[0].vessels[0], incidents=())
    with pytest.raises(AttributeError):
        object.__getattribute__(one, "daily")  # what the record itself holds
    assert one.incidents == ()
    assert len(one.daily) > 100


def test_days_of_another_scan_are_not_taken_for_ones_own(kept_scan: Kept, tmp_path: Path) -> None:
    direct = kept_scan[0].vessels[0]
    (tmp_path / "DA-1.parquet").write_bytes(kept.encoded(direct, "mine"))
    mine = kept.opened(tmp_path / "DA-1.parquet")
    pd.testing.assert_frame_equal(mine.daily, direct.daily)
    assert mine.daily is mine.daily  # read once while one vessel is told of
    assert len(kept_scan[0].vessels[1].daily) > 0  # and only that one's stay in memory
    (tmp_path / "DA-1.parquet").write_bytes(kept.encoded(direct, "of another scan into the folder"))
    with pytest.raises(VesselFault, match="written anew while it was in use"):
        _ = mine.daily
    (tmp_path / "DA-1.parquet").unlink()
    with pytest.raises(VesselFault, match="was removed"):
        _ = mine.daily


@pytest.mark.parametrize("other", ["other days", "gone"])
def test_a_result_that_another_scan_replaced_meanwhile_is_not_taken(
    mine: tuple[Fleet, Path], monkeypatch: pytest.MonkeyPatch, other: str
) -> None:
    fleet, keep = mine
    place = keep / "DA-1.parquet"
    real = vessel_task.work

    def meanwhile(task: vessel_task.Task) -> vessel_task.Outcome:
        outcome = real(task)
        assert outcome.content is None  # it would be taken from there
        result = kept.decoded(place.read_bytes())
        place.unlink() if other == "gone" else place.write_bytes(kept.encoded(result, "of other days"))
        return outcome

    monkeypatch.setattr(vessel_task, "work", meanwhile)
    found = fleet_scan.scan(fleet, keep=keep)
    assert found.vessels[0].state == "failed"
    assert "written anew by another scan meanwhile" in (found.vessels[0].error or "")


def test_the_working_folder_does_not_matter(
    written_fleet: Fleet, kept_scan: Kept, scanned: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(written_fleet.path.parent)
    fleet_scan.scan(written_fleet, keep=kept_scan[1])
    assert scanned == []


def test_unchanged_vessels_are_not_scanned_again(
    written_fleet: Fleet, kept_scan: Kept, scanned: list[str]
) -> None:
    again = fleet_scan.scan(written_fleet, keep=kept_scan[1])
    assert scanned == []
    for one, other in zip(again.vessels, kept_scan[0].vessels, strict=True):
        equal(one, other)


def test_one_changed_byte_is_noticed_at_equal_size_and_time(
    mine: tuple[Fleet, Path], scanned: list[str]
) -> None:
    fleet, keep = mine
    path = small_fleet.exports_of(fleet, 0)[0]
    before, content = path.stat(), bytearray(path.read_bytes())
    content[len(content) // 2] ^= 1
    path.write_bytes(content)
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))
    assert (path.stat().st_size, path.stat().st_mtime_ns) == (before.st_size, before.st_mtime_ns)
    task = vessel_task.task(fleet.vessels[0], fleet, None, None, kept.stamp_of(keep / "DA-1.parquet"))
    assert vessel_task.work(task).content is not None


@pytest.mark.parametrize("what", ["until", "entry", "cost", "timezone", "code"])
def test_all_that_a_result_depends_on_counts(
    mine: tuple[Fleet, Path], what: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    fleet, _ = mine
    vessel, until = fleet.vessels[0], None
    known = stamp.stamp(vessel, fleet, (None, None), vessel_task.DEFAULTS, ["a 1"])
    if what == "until":
        until = pd.Timestamp("2023-05-01", tz="UTC")
    elif what == "entry":
        vessel = dataclasses.replace(vessel, barometer=vessel.barometer + 1.0)
    elif what == "cost":
        fleet = dataclasses.replace(fleet, cost=Cost(28.0, "EUR"))
    elif what == "timezone":
        fleet = dataclasses.replace(fleet, timezone="UTC")
    else:
        monkeypatch.setattr(stamp, "code", lambda: "another")
    assert stamp.stamp(vessel, fleet, (None, until), vessel_task.DEFAULTS, ["a 1"]) != known


@pytest.mark.parametrize("damage", ["gone", "cut", "other"])
def test_a_missing_or_damaged_result_is_made_anew(
    mine: tuple[Fleet, Path], scanned: list[str], damage: str
) -> None:
    fleet, keep = mine
    place = keep / "DA-1.parquet"
    if damage == "gone":
        shutil.rmtree(keep)
    elif damage == "cut":
        place.write_bytes(place.read_bytes()[:1000])
    else:
        pd.DataFrame({"a": [1]}).to_parquet(place)
    found = fleet_scan.scan(fleet, keep=keep)
    assert scanned == ["DA-1"]
    assert found.vessels[0].state == "scanned"


def test_results_of_vessels_that_are_gone_are_removed(mine: tuple[Fleet, Path], scanned: list[str]) -> None:
    fleet, keep = mine
    (keep / "DA-9.parquet").write_bytes(b"old")
    part = keep / ".DA-1.parquet.x.part"
    part.write_bytes(b"half")
    os.utime(part, (0, 0))
    fleet_scan.scan(fleet, keep=keep)
    assert [path.name for path in keep.iterdir()] == ["DA-1.parquet"]


def test_a_failed_vessel_is_tried_again(mine: tuple[Fleet, Path], scanned: list[str]) -> None:
    fleet, keep = mine
    shutil.rmtree(keep)
    path = small_fleet.exports_of(fleet, 0)[0]
    path.rename(path.with_suffix(".away"))
    assert fleet_scan.scan(fleet, keep=keep).vessels[0].state == "failed"
    path.with_suffix(".away").rename(path)
    assert fleet_scan.scan(fleet, keep=keep).vessels[0].state == "scanned"


def test_the_programs_mark_hangs_on_every_source_that_calculates(monkeypatch: pytest.MonkeyPatch) -> None:
    read: list[Path] = []
    real = Path.read_bytes

    def noted(path: Path) -> bytes:
        read.append(path)
        return real(path)

    monkeypatch.setattr(Path, "read_bytes", noted)
    assert stamp.code.__wrapped__() == stamp.code()
    assert {*(Path(__file__).parents[3] / "detect").rglob("*.py")} <= {path.resolve() for path in read}
