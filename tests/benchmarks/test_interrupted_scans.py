"""Real scans that are interrupted, killed, or run into a full disk or a folder that can't be written to."""

import os
import resource
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from benchmarks import kills
from sevenppb.synthetic.fleet import write_fleet
from sevenppb.synthetic.simulation import FleetPlan

pytestmark = pytest.mark.skipif(os.name == "nt", reason="signals and limits of Unix")


def start(*words: object, **how: Any) -> "subprocess.Popen[str]":
    command = (*kills.COMMAND, *map(str, words))
    return subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True, **how
    )


def ended(*words: object, **how: Any) -> tuple[int, str]:
    """The exit status of a whole scan, and what it told on stderr."""
    with start(*words, **how) as scan:
        _, told = scan.communicate(timeout=60)
    return scan.returncode, told


def until(true: Callable[[], bool], seconds: float = 30.0) -> None:
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end
        time.sleep(0.02)


@pytest.fixture(scope="module")
def fleet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    plan = FleetPlan(
        seed=3, vessels=5, healthy=1, days=200, step_minutes=60, baseline_days=100, forms=("wide-parquet",)
    )
    return write_fleet(tmp_path_factory.mktemp("fleet"), plan)


@pytest.mark.parametrize("workers", [1, 2])
def test_what_is_done_at_ctrl_c_is_kept_and_taken_up(fleet: Path, tmp_path: Path, workers: int) -> None:
    words = ("scan", fleet, "--out", tmp_path, "--workers", workers)
    with start(*words) as scan:
        until(lambda: len(list((tmp_path / "cache").glob("DA-*"))) >= 2)
        os.killpg(scan.pid, signal.SIGINT)  # as a terminal does
        _, told = scan.communicate(timeout=30)
    assert scan.returncode == 130, told
    assert "Traceback" not in told
    assert "Results so far are kept: the same command goes on from there." in told
    kept = {path.name: path.stat().st_ino for path in (tmp_path / "cache").glob("DA-*")}
    assert 2 <= len(kept) < 5
    assert [path.name for path in tmp_path.iterdir()] == ["cache"]

    assert ended(*words, "--quiet") == (0, "")
    now = {path.name: path.stat().st_ino for path in (tmp_path / "cache").glob("DA-*")}
    assert len(now) == 5
    assert now.items() >= kept.items()  # not written again
    assert pd.read_parquet(tmp_path / "daily.parquet").vessel.nunique() == 5


def test_no_process_outlives_a_killed_scan(fleet: Path, tmp_path: Path) -> None:
    with start("scan", fleet, "--out", tmp_path, "--workers", 2) as scan:
        until(lambda: (tmp_path / "cache").exists() and any((tmp_path / "cache").iterdir()))
        scan.kill()

    def all_gone() -> bool:
        listed = subprocess.run(["ps", "-eo", "pgid="], capture_output=True, text=True, check=True)
        return str(scan.pid) not in listed.stdout.split()

    until(all_gone, 10.0)


def test_a_disk_that_fills_up_leaves_the_old_files(fleet: Path, tmp_path: Path) -> None:
    words = ("scan", fleet, "--out", tmp_path, "--vessel", "DA-1", "--quiet")
    assert ended(*words, "--until", "2023-07-01") == (0, "")
    before = {path.name: path.read_bytes() for path in tmp_path.glob("*.*") if path.suffix != ".sqlite"}
    most = len(before["scan.html"]) // 2

    def little_room() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))

    told = f"Can't write to {tmp_path}: File too large. Choose another folder with --out.\n"
    assert ended(*words, preexec_fn=little_room) == (2, told)
    assert {
        path.name: path.read_bytes() for path in tmp_path.glob("*.*") if path.suffix != ".sqlite"
    } == before
    assert ended(*words) == (0, "")


@pytest.mark.skipif(sys.platform != "linux", reason="there is no /proc")
def test_a_folder_that_cannot_be_written_to_is_told_before_anything_is_read(fleet: Path) -> None:
    begun = time.monotonic()
    status, told = ended("scan", fleet, "--out", "/proc")
    assert status == 2
    assert told.startswith("Can't write to /proc: ")
    assert told.count("\n") == 1
    assert time.monotonic() - begun < 10.0
