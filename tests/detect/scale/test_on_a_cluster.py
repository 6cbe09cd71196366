"""A real scheduler and two real workers in processes of their own, one of which is killed in the midst."""

import os
import signal
import subprocess
import time
from pathlib import Path

import pytest
import small_fleet

from sevenppb.detect import fleet_scan
from sevenppb.detect.fleet import Fleet
from sevenppb.detect.scale import cluster

pytest.importorskip("distributed")

Cluster = tuple[str, "subprocess.Popen[bytes]", list["subprocess.Popen[bytes]"]]


def test_a_worker_killed_midway_costs_no_vessel(cluster_of_two: Cluster, tmp_path: Path) -> None:
    address, _, hands = cluster_of_two
    fleet = small_fleet.written(tmp_path / "fleet", vessels=5)
    for path in small_fleet.exports_of(fleet, 4):
        path.write_bytes(b"PAR1 and no more")  # this vessel fails, and the rest are scanned all the same
    killed: list[float] = []

    def kill_one(vessel: str, done: int, total: int) -> None:
        if not killed:
            os.kill(hands[0].pid, signal.SIGKILL)
            killed.append(time.monotonic())

    found = fleet_scan.scan(fleet, cluster=address, keep=tmp_path / "kept", progress=kill_one)
    assert killed
    assert hands[0].wait() == -signal.SIGKILL
    assert [vessel.state for vessel in found.vessels] == ["scanned"] * 4 + ["failed"]
    here = fleet_scan.scan(fleet, keep=tmp_path / "here")
    assert repr(here.incidents) == repr(found.incidents)
    assert {path.name for path in (tmp_path / "kept").iterdir()} == {f"DA-{n}.parquet" for n in (1, 2, 3, 4)}


@pytest.mark.parametrize(
    ("lost", "told"),
    [
        ("workers", "has had no worker for 2 s. Finished vessels are kept"),
        ("scheduler", "was lost in the midst"),
    ],
)
def test_a_cluster_that_is_lost_ends_in_a_sentence_and_keeps_what_is_done(
    cluster_of_two: Cluster,
    written_fleet: Fleet,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    lost: str,
    told: str,
) -> None:
    address, head, hands = cluster_of_two
    monkeypatch.setattr(cluster, "PATIENCE", 3.0)
    monkeypatch.setattr(cluster, "WITHOUT_WORKERS", 1.5)
    monkeypatch.setattr(cluster, "LOOK", 0.5)

    def lose(vessel: str, done: int, total: int) -> None:
        for process in hands if lost == "workers" else [head]:
            process.kill()

    with pytest.raises(cluster.ClusterFault, match=told):
        fleet_scan.scan(written_fleet, cluster=address, keep=tmp_path, progress=lose)
    done = {path.stem for path in tmp_path.iterdir()}
    assert done < {vessel.id for vessel in written_fleet.vessels}
    assert done
