"""What a process and its children cost: processor and wall seconds, peak memory, as the system counts them."""

import os
import resource
import subprocess
import sys
import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

# one thread a process in the arrays' libraries: both sides get the same, and workers don't fight for the cores
ALONE = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
SAMPLE = 0.25  # s between two looks at the memory: each look stops the processes that are looked at
MEGA = 1e6


@dataclass(frozen=True)
class Cost:
    """Processor and wall seconds; peak memory [bytes] of the process and its children together, of the process by
    itself, and of the largest child (0: there was none)."""

    cpu: float
    wall: float
    peak: int
    command: int
    worker: int


def run(words: Sequence[str]) -> Cost:
    """Run a command to its end, its modules compiled and kept as Python does unless told not to. Raises
    CalledProcessError where it fails, with what it said."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    start = time.perf_counter()
    process = subprocess.Popen(
        words, env=_environment(), stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True
    )
    peaks = _Peaks()
    watch = threading.Thread(target=_watch, args=(process, peaks))
    watch.start()
    _, said = process.communicate()
    wall = time.perf_counter() - start
    watch.join()
    if process.returncode != 0:
        raise subprocess.CalledProcessError(process.returncode, words, stderr=said)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    cpu = (after.ru_utime - before.ru_utime) + (after.ru_stime - before.ru_stime)
    return Cost(cpu, wall, peaks.together, peaks.command, peaks.worker)


def _environment() -> dict[str, str]:
    return {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"} | ALONE


def python(code: str, *arguments: str) -> list[str]:
    """The words that run a piece of Python in this environment."""
    return [sys.executable, "-c", code, *arguments]


def sevenppb(*words: str) -> list[str]:
    """The words that run the command, as its console script does."""
    return python("from sevenppb.reports.cli import program; program()", *words)


@dataclass
class _Peaks:
    together: int = 0
    command: int = 0
    worker: int = 0


def _watch(process: "subprocess.Popen[str]", peaks: _Peaks) -> None:
    while process.poll() is None:
        family = _family(process.pid)
        peaks.together = max(peaks.together, sum(map(_proportional, family)))
        peaks.command = max([peaks.command, *map(_highest, family[:1])])
        peaks.worker = max([peaks.worker, *map(_highest, family[1:])])
        time.sleep(SAMPLE)


def _family(pid: int) -> list[int]:
    """The process and all that stem from it."""
    try:
        tasks = list(Path(f"/proc/{pid}/task").iterdir())
        children = [int(child) for task in tasks for child in (task / "children").read_text().split()]
    except OSError:  # it has just ended
        return []
    return [pid, *(p for child in children for p in _family(child))]


def _proportional(pid: int) -> int:
    """Memory [bytes] with shared pages divided among those who share them (Linux: Pss)."""
    return _counted(pid, "smaps_rollup", "Pss:")


def _highest(pid: int) -> int:
    """The most memory [bytes] that the process has had, shared pages with it (Linux: VmHWM)."""
    return _counted(pid, "status", "VmHWM:")


def _counted(pid: int, file: str, name: str) -> int:
    """What the system counts [bytes] under a name; 0 where the process has just ended."""
    try:
        lines = Path(f"/proc/{pid}/{file}").read_text().splitlines()
    except OSError:
        return 0
    return next((int(line.split()[1]) * 1024 for line in lines if line.startswith(name)), 0)
