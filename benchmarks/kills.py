"""Kill real scans at random moments and see that nothing is left broken.

    python -m benchmarks.kills --number 50

Each round starts `sevenppb scan`, kills the process and its children at a random moment of a scan's usual
length, and looks at the folder of the outputs: every file is whole, and is the old or the new one. Rounds take
turns at two spans of days, so that there is always something new to write.
"""

import argparse
import csv
import io
import json
import os
import random
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

import pyarrow.parquet as pq

from sevenppb.synthetic.fleet import write_fleet
from sevenppb.synthetic.simulation import FleetPlan

PLAN = FleetPlan(
    seed=3, vessels=2, healthy=1, days=150, step_minutes=60, baseline_days=100, forms=("wide-parquet",)
)
UNTIL = ("2023-05-10", "2023-05-25")
COMMAND = (sys.executable, "-c", "from sevenppb.reports.cli import program; program()")
# how each kind of file ends when it is whole
ENDS = {".json": b"}", ".html": b"</html>", ".pdf": b"%%EOF", ".csv": b"", ".parquet": b"PAR1"}


def kills(folder: Path, number: int, seed: int) -> Counter[str]:
    """Kill `number` scans; counts of "killed" and "finished first", and of the files then found "old" and
    "new". Raises AssertionError at the first that is broken."""
    fleet, out = write_fleet(folder, PLAN), folder / "scan"
    start = time.monotonic()
    _scan_whole(fleet, out)
    usual = time.monotonic() - start
    counts: Counter[str] = Counter()
    chance = random.Random(seed)
    for turn in range(number):
        before = _files(out)
        # the cache would leave only the report to be killed
        if chance.random() < 0.5:
            for path in (out / "cache").glob("*"):
                path.unlink()
        process = _start(fleet, UNTIL[turn % 2])
        try:
            process.wait(chance.uniform(0.0, usual))
            counts["finished first"] += 1
        except subprocess.TimeoutExpired:
            os.killpg(process.pid, signal.SIGKILL)
            process.wait()
            counts["killed"] += 1
        for name, content in _files(out).items():
            _check(name, content)
            counts["old" if content == before.get(name) else "new"] += 1
        _check_register(out / "register.sqlite")
    _scan_whole(fleet, out)  # and the next scan is none the worse
    assert counts["killed"], "every scan had ended before it was to be killed"
    return counts


def _scan_whole(fleet: Path, out: Path) -> None:
    assert _start(fleet, UNTIL[1]).wait() == 0
    assert {path.name for path in out.iterdir()} >= {"incidents.json", "scan.html", "daily.parquet"}


def _start(fleet: Path, until: str) -> "subprocess.Popen[bytes]":
    words = ("scan", str(fleet), "--until", until, "--workers", "2", "--quiet")
    return subprocess.Popen(
        (*COMMAND, *words), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True
    )


def _files(out: Path) -> dict[str, bytes]:
    """The outputs and the kept results, but for the register and what has no name yet."""
    return {
        path.name: path.read_bytes()
        for path in (*out.iterdir(), *(out / "cache").glob("*"))
        if path.suffix in ENDS and not path.name.startswith(".")
    }


def _check(name: str, content: bytes) -> None:
    assert content.rstrip(b"\r\n ").endswith(ENDS[Path(name).suffix].rstrip()), f"{name} is cut"
    if name.endswith(".csv"):
        assert len({len(row) for row in csv.reader(io.StringIO(content.decode("utf-8-sig")))}) == 1, (
            f"{name} is cut"
        )
    if name.endswith(".json"):
        json.loads(content)
    if name.endswith(".parquet"):
        pq.read_table(io.BytesIO(content))


def _check_register(place: Path) -> None:
    with sqlite3.connect(place) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
    connection.close()


if __name__ == "__main__":
    parser = argparse.ArgumentParser(
        "python -m benchmarks.kills", description="Kill real scans at random moments."
    )
    parser.add_argument("--number", type=int, default=50)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="kills-") as place:
        print(dict(kills(Path(place), asked.number, asked.seed)))
