"""The quarterly scan of a fleet beside bare engines that only read the same files and take hourly medians."""

import shutil
import sys
from pathlib import Path

from benchmarks import bare, made_exports, measured
from benchmarks.measured import Cost


def scan(fleet: Path, workers: int) -> Cost:
    """The whole command, report and PDF with it, into a new folder."""
    out = fleet.parent / "scan"
    shutil.rmtree(out, ignore_errors=True)
    return measured.run(
        measured.sevenppb("scan", str(fleet), "--workers", str(workers), "--out", str(out), "--quiet")
    )


def reading_alone(engine: str, fleet: Path, workers: int) -> Cost:
    """By one of bare.ENGINES with as many threads, the start of Python with it."""
    paths = [str(path) for path in made_exports.exports(fleet)]
    return measured.run([sys.executable, bare.__file__, engine, str(workers), *paths])


def beside(fleet: Path, workers: int, rounds: int) -> tuple[Cost, dict[str, Cost]]:
    """(scan, reading alone by engine), each the round with the least processor time, run in turn so that a busy
    machine hits all."""
    ours, theirs = [], []
    for _ in range(rounds):
        ours.append(scan(fleet, workers))
        theirs.append({engine: reading_alone(engine, fleet, workers) for engine in bare.ENGINES})
    least = {
        engine: min((costs[engine] for costs in theirs), key=lambda cost: cost.cpu) for engine in bare.ENGINES
    }
    return min(ours, key=lambda cost: cost.cpu), least
