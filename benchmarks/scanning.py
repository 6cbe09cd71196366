"""The quarterly scan of a fleet beside bare engines that only read the same files and take hourly medians."""

import shutil
import sys
from pathlib import Path

from benchmarks import bare, made_exports, measured
from benchmarks.measured import Cost


def out(fleet: Path) -> Path:
    """The folder of the fleet's scan."""
    return fleet.parent / "scan"


def scan(fleet: Path, workers: int) -> Cost:
    """The whole command, report and PDF with it, into a new folder."""
    shutil.rmtree(out(fleet), ignore_errors=True)
    return scan_again(fleet, workers)


def scan_again(fleet: Path, workers: int) -> Cost:
    """The same, with what its folder holds."""
    words = ("scan", str(fleet), "--workers", str(workers), "--out", str(out(fleet)), "--quiet")
    return measured.run(measured.sevenppb(*words))


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
