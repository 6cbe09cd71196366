"""The quarterly scan of a fleet beside the bare engine that only reads the same files and takes hourly medians."""

import shutil
from pathlib import Path

from benchmarks import made_exports, measured
from benchmarks.measured import Cost

# One connection with as many threads as the scan has workers; nothing is kept of a vessel once it is counted.
BARE = """
import sys, duckdb
db = duckdb.connect(config={"threads": sys.argv[1]})
for path in sys.argv[2:]:
    names = [row[0] for row in db.execute(f"DESCRIBE SELECT * FROM '{path}'").fetchall()]
    time, *tags = names
    medians = ", ".join(f'median("{tag}")' for tag in tags)
    db.execute(f"SELECT time_bucket(INTERVAL 1 hour, {time}) AS h, {medians} FROM '{path}' GROUP BY h").fetchnumpy()
"""


def scan(fleet: Path, workers: int) -> Cost:
    """The whole command, report and PDF with it, into a new folder."""
    out = fleet.parent / "scan"
    shutil.rmtree(out, ignore_errors=True)
    return measured.run(
        measured.sevenppb("scan", str(fleet), "--workers", str(workers), "--out", str(out), "--quiet")
    )


def bare(fleet: Path, workers: int) -> Cost:
    """Reading alone, the start of Python with it."""
    paths = [str(path) for path in made_exports.exports(fleet)]
    return measured.run(measured.python(BARE, str(workers), *paths))


def beside(fleet: Path, workers: int, rounds: int) -> tuple[Cost, Cost]:
    """(scan, bare), each the round with the least processor time, run in turn so that a busy machine hits both."""
    pairs = [(scan(fleet, workers), bare(fleet, workers)) for _ in range(rounds)]
    return min((a for a, _ in pairs), key=lambda c: c.cpu), min((b for _, b in pairs), key=lambda c: c.cpu)
