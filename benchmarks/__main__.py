"""Speed and memory as ratios within one run, and two runs beside each other.

python -m benchmarks run [--vessels 100] [--days 90] [--curve]   measure; writes build/benchmarks/COMMIT.json
python -m benchmarks run --curve --write docs                    and into docs/performance.md
python -m benchmarks compare OLD.json NEW.json                   how the ratios have moved
python -m benchmarks memory [--scanned N ...] [--kept N ...]     peaks against the number of vessels
"""

import argparse
import os
import sys
from pathlib import Path

from benchmarks import memory, record, speed_page, suite

PLACE = Path(__file__).parents[1] / "build" / "benchmarks"


def main(words: list[str]) -> int:
    parser = argparse.ArgumentParser(
        "python -m benchmarks", description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    asked = parser.add_subparsers(dest="what", required=True)
    run = asked.add_parser("run", help="measure")
    run.add_argument("--vessels", type=int, default=100)
    run.add_argument("--days", type=int, default=90)
    run.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    run.add_argument("--rounds", type=int, default=1, help="of each pair; the cheapest counts")
    run.add_argument("--curve", action="store_true", help="also costs against vessels and years")
    run.add_argument("--exports", type=Path, help="folder of the made-up exports: written once, used again")
    run.add_argument("--out", type=Path, default=PLACE)
    run.add_argument("--write", type=Path, help="folder of performance.md, with --curve")
    many = asked.add_parser("memory", help="peaks against the number of vessels")
    many.add_argument("--scanned", type=int, nargs="*", default=[100, 1000])
    many.add_argument("--kept", type=int, nargs="*", default=[100, 10_000])
    many.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    many.add_argument("--exports", type=Path, default=PLACE / "exports")
    compare = asked.add_parser("compare", help="two runs beside each other")
    compare.add_argument("old", type=Path)
    compare.add_argument("new", type=Path)
    given = parser.parse_args(words)
    if given.what == "compare":
        print(record.compared(record.read(given.old), record.read(given.new)))
        return 0
    if given.what == "memory":
        print(memory.table(given.exports, given.scanned, given.kept, given.workers))
        return 0
    plan = suite.Plan(given.vessels, given.days, given.workers, given.rounds, given.curve)
    found = suite.measure(plan, given.exports or given.out / "exports")
    path = record.write(given.out, found)
    print(record.table(found))
    print(f"\n{path}")
    if given.write is not None:
        speed_page.write(given.write, found)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
