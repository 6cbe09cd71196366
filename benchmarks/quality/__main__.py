"""Detection on made-up fleets, beside what general libraries find in the same readings.

python -m benchmarks.quality --seeds 301,302                 figures on the screen
python -m benchmarks.quality --seeds 301,302 --write docs    and into docs/detection.md
python -m benchmarks.quality --seeds 101 --alone             sevenppb alone, while it is tuned
python -m benchmarks.quality --seeds 821 --alone --write docs
                                                             and that page's part on the detection alone

Needs `pip install -e ".[bench]"`, but for --alone. Seeds that anything was tuned on are not for measuring.
"""

import argparse
from dataclasses import replace
from pathlib import Path

from benchmarks.quality import chapters, compare, costs, figures, fleets, page
from benchmarks.quality.chapters import Chapter
from benchmarks.quality.fleets import Judged
from sevenppb.synthetic.simulation import FleetPlan

DRAWN = FleetPlan(roles=None)
SETS = {"every instrument": FleetPlan(roles="all"), "drawn instruments": DRAWN}
UNUSUAL = {"drawn, unusual running": replace(DRAWN, unusual=True)}  # sevenppb alone


def main(arguments: list[str] | None = None) -> None:
    """Run what is asked, print it, and write it into the page if asked."""
    asked = arguments_of(arguments)
    plans = {
        name: replace(
            plan,
            vessels=asked.vessels,
            healthy=asked.healthy,
            days=asked.days,
            step_minutes=asked.minutes,
            baseline_days=asked.baseline,
        )
        for name, plan in (SETS | UNUSUAL if asked.alone else SETS).items()
    }
    (_alone if asked.alone else _compared)(plans, asked)


def _alone(plans: dict[str, FleetPlan], asked: argparse.Namespace) -> None:
    progress = Progress([(asked.vessels, 0)] * len(plans) * len(asked.seeds))
    sets = {}
    for name, plan in plans.items():
        sets[name] = fleets.judged(plan, asked.seeds, heard=progress.heard)
        _tell(name, sets[name])
    every = [result for results in sets.values() for result in results]
    print(f"\n{figures.reliability_bins(every).to_string(index=False)}")
    _finish(chapters.alone(sets, asked), every, asked.write)


def _compared(plans: dict[str, FleetPlan], asked: argparse.Namespace) -> None:
    tuning = [(asked.tuning_vessels, 0)] * len(asked.tuning_seeds)
    judged = [(asked.vessels, len(compare.BUDGETS))] * len(asked.seeds)
    progress = Progress((tuning + judged) * len(plans))
    sets = []
    for name, plan in plans.items():
        one = compare.compared(
            name, plan, asked.seeds, asked.tuning_seeds, asked.tuning_vessels, heard=progress.heard
        )
        sets.append(one)
        _tell(name, one.results)
    every = [result for one in sets for result in one.results]
    _finish(chapters.comparison(sets, asked), every, asked.write)


def _finish(chapter: Chapter, results: list[Judged], folder: Path | None) -> None:
    for name, table in chapter.tables.items():
        print(f"\n{name}\n{table.to_string(index=False)}")
    print(f"\n{costs.table(results).to_string(index=False)}")
    if folder is not None:
        page.write(folder, chapter.tables, chapter.texts, chapter.drawings)


def _tell(name: str, results: list[Judged]) -> None:
    print(f"\n{name}\n{figures.causes(results).to_string(index=False)}")
    print("\n".join(figures.facts(results)), flush=True)


class Progress:
    """Tells how long the rest of a run takes on idle processors, whenever a fleet is done. `rest`: as for
    costs.minutes_left."""

    def __init__(self, rest: list[tuple[int, int]]) -> None:
        self.rest, self.done = rest, list[Judged]()

    def heard(self, fleet: list[Judged]) -> None:
        self.rest, self.done = self.rest[1:], self.done + fleet
        left = costs.minutes_left(self.done, self.rest)
        print(f"{len(self.done)} vessels done; {left:.0f} minutes left if nothing else runs", flush=True)


def arguments_of(arguments: list[str] | None) -> argparse.Namespace:
    """The command line's words, or what it was given instead."""
    parser = argparse.ArgumentParser(
        "python -m benchmarks.quality",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    add = parser.add_argument
    add("--seeds", type=_seeds, default=(301, 302), help="of the fleets that are judged")
    add("--vessels", type=int, default=24, help="in each of these fleets")
    add("--healthy", type=int, default=2, help="of these without a fault")
    add(
        "--tuning-seeds",
        type=_seeds,
        default=(201, 202, 203, 204),
        help="of the healthy fleets that set thresholds",
    )
    add("--tuning-vessels", type=int, default=24, help="in each of these")
    add("--days", type=int, default=730, help="of readings")
    add("--minutes", type=int, default=20, help="between readings")
    add("--baseline", type=int, default=365, help="days that count as healthy")
    add("--alone", action="store_true", help="without rivals")
    add("--write", type=Path, metavar="DOCS", help="the folder of detection.md")
    return parser.parse_args(arguments)


def _seeds(text: str) -> tuple[int, ...]:
    return tuple(int(part) for part in text.split(","))


if __name__ == "__main__":
    main()
