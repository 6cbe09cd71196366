"""What befalls one vessel costs the others nothing."""

import dataclasses
import os
import signal
import tempfile
import time
from pathlib import Path
from typing import Any

import pytest
import small_fleet

from sevenppb.detect import fleet_scan, vessel_scan
from sevenppb.detect.errors import Fault
from sevenppb.detect.exports import read
from sevenppb.detect.fleet import Fleet
from sevenppb.detect.incidents.incident import FleetScan
from sevenppb.detect.scale import cluster, vessel_task


@pytest.fixture
def strike(monkeypatch: pytest.MonkeyPatch) -> Any:
    """Something that happens in the midst of DA-2's scan, in whatever process that is."""
    real = vessel_scan.scan_vessel

    def set_up(what: Any) -> None:
        def struck(vessel: Any, *rest: Any, **named: Any) -> Any:
            if vessel.id == "DA-2":
                what()
            return real(vessel, *rest, **named)

        monkeypatch.setattr(vessel_scan, "scan_vessel", struck)

    return set_up


def states(found: FleetScan) -> list[str]:
    return [vessel.state for vessel in found.vessels]


def test_a_killed_process_costs_its_own_vessel_only(written_fleet: Fleet, strike: Any) -> None:
    strike(lambda: os.kill(os.getpid(), signal.SIGKILL))
    found = fleet_scan.scan(written_fleet, workers=2)
    assert states(found) == ["scanned", "failed", "scanned"]
    assert 'vessel "DA-2": its process was killed twice' in (found.vessels[1].error or "")


def test_a_process_that_dies_once_is_forgiven(written_fleet: Fleet, strike: Any, tmp_path: Path) -> None:
    def once() -> None:
        if not (tmp_path / "struck").exists():
            (tmp_path / "struck").touch()
            os.kill(os.getpid(), signal.SIGKILL)

    strike(once)
    assert states(fleet_scan.scan(written_fleet, workers=2)) == ["scanned"] * 3


def test_no_process_waits_for_what_is_done_with_an_outcome(
    written_fleet: Fleet, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = vessel_scan.scan_vessel
    begun = tmp_path / "begun"
    begun.mkdir()

    def seen(vessel: Any, *rest: Any, **named: Any) -> Any:
        (begun / vessel.id).touch()
        return real(vessel, *rest, **named)

    def linger(vessel: str, done: int, total: int) -> None:
        end = time.monotonic() + 20.0
        while len(list(begun.iterdir())) < total and time.monotonic() < end:
            time.sleep(0.01)
        assert len(list(begun.iterdir())) == total, f"nothing begins while {vessel} is taken in"

    monkeypatch.setattr(vessel_scan, "scan_vessel", seen)
    fleet_scan.scan(written_fleet, workers=2, progress=linger)


def test_what_a_killed_process_had_on_disk_goes_with_it(
    written_fleet: Fleet, strike: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))

    def killed_while_spilling() -> None:
        Path(tempfile.mkdtemp(prefix="sevenppb-"), "spilled").write_text("much")
        os.kill(os.getpid(), signal.SIGKILL)

    strike(killed_while_spilling)
    assert states(fleet_scan.scan(written_fleet, workers=2)) == ["scanned", "failed", "scanned"]
    assert list(tmp_path.glob("sevenppb-*")) == []


@pytest.mark.parametrize("workers", [1, 2])
def test_memory_that_does_not_suffice_fails_one_vessel(
    written_fleet: Fleet, strike: Any, workers: int
) -> None:
    def exhaust() -> None:
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (1 << 20, resource.RLIM_INFINITY))
        try:
            bytearray(1 << 28)
        finally:
            resource.setrlimit(resource.RLIMIT_AS, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))

    strike(exhaust)
    found = fleet_scan.scan(written_fleet, workers=workers)
    assert states(found) == ["scanned", "failed", "scanned"]
    assert "the memory did not suffice" in (found.vessels[1].error or "")


def test_a_fault_of_ours_fails_one_vessel_and_says_where(written_fleet: Fleet, strike: Any) -> None:
    def wrong() -> None:
        raise ZeroDivisionError("float division by zero")

    strike(wrong)
    found = fleet_scan.scan(written_fleet)
    assert states(found) == ["scanned", "failed", "scanned"]
    assert "unforeseen ZeroDivisionError (float division by zero; test_worker_faults.py, line" in (
        found.vessels[1].error or ""
    )


def test_an_export_that_changes_while_it_is_read_fails_its_vessel(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fleet = small_fleet.written(tmp_path / "fleet", vessels=1)
    path = small_fleet.exports_of(fleet, 0)[0]
    real = read.read_vessel

    def touched(*asked: Any) -> Any:
        readings = real(*asked)
        before = path.stat()
        path.write_bytes(path.read_bytes()[:-1] + b"2")
        os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))  # even where time and size tell nothing
        return readings

    monkeypatch.setattr(read, "read_vessel", touched)
    found = fleet_scan.scan(fleet, keep=tmp_path / "kept")
    assert states(found) == ["failed"]
    assert "changed while it was read. Run the scan again" in (found.vessels[0].error or "")
    assert not list((tmp_path / "kept").iterdir())


def test_results_of_another_version_are_refused(written_fleet: Fleet) -> None:
    task = vessel_task.task(written_fleet.vessels[0], written_fleet, None, None, None)
    outcome = vessel_task.work(dataclasses.replace(task, code="another"))
    assert outcome.state == "failed"


def test_no_scheduler_is_one_sentence(written_fleet: Fleet, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cluster, "PATIENCE", 0.5)
    with pytest.raises(Fault, match=r"No scheduler answers at tcp://127\.0\.0\.1:1 "):
        fleet_scan.scan(written_fleet, cluster="tcp://127.0.0.1:1")


def test_no_packages_is_one_sentence(written_fleet: Fleet, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "distributed", None)
    with pytest.raises(Fault, match=r'pip install "sevenppb\[cluster\]"'):
        fleet_scan.scan(written_fleet, cluster="tcp://127.0.0.1:8786")


def test_exports_at_an_address_are_read_where_they_are(written_fleet: Fleet) -> None:
    fsspec = pytest.importorskip("fsspec")
    store = fsspec.filesystem("memory")
    store.makedirs("/plant", exist_ok=True)
    for path in small_fleet.exports_of(written_fleet, 0):
        store.pipe_file(f"/plant/{path.name}", path.read_bytes())
    vessel = dataclasses.replace(written_fleet.vessels[0], exports=("memory://plant/*.parquet",))
    away = dataclasses.replace(written_fleet, vessels=(vessel,))
    found = fleet_scan.scan(away).vessels[0]
    here = fleet_scan.scan(dataclasses.replace(written_fleet, vessels=written_fleet.vessels[:1]))
    assert (found.state, found.readings) == ("scanned", here.vessels[0].readings)
    absent = dataclasses.replace(away, vessels=(dataclasses.replace(vessel, exports=("nowhere://a/*",)),))
    assert "nowhere://a/* can't be fetched" in (fleet_scan.scan(absent).vessels[0].error or "")
