"""Detection on made-up fleets, beside what general libraries find in the same readings.

python -m benchmarks.quality --seeds 301,302                 figures on the screen
python -m benchmarks.quality --seeds 301,302 --write docs    and into docs/detection.md
python -m benchmarks.quality --seeds 101 --alone             sevenppb alone, while it is tuned

Needs `pip install -e ".[bench]"`, but for --alone. Seeds that anything was tuned on are not for measuring.
"""

import argparse
from pathlib import Path

from benchmarks.quality import charts, compare, fleets, page
from benchmarks.quality.compare import Compared
from sevenppb.synthetic.simulation import FleetPlan

INSTRUMENTS: dict[str, str | None] = {"every instrument": "all", "drawn instruments": None}


def main(arguments: list[str] | None = None) -> None:
    """Run what is asked, print it, and write it into the page if asked."""
    asked = _arguments(arguments)
    done: list[Compared] = []
    for name, roles in INSTRUMENTS.items():
        plan = FleetPlan(
            vessels=asked.vessels,
            healthy=asked.healthy,
            roles=roles,
            days=asked.days,
            step_minutes=asked.minutes,
            baseline_days=asked.baseline,
        )
        if asked.alone:
            one = Compared(name, (), float("nan"), fleets.judged(plan, asked.seeds))
        else:
            one = compare.compared(name, plan, asked.seeds, asked.tuning_seeds, asked.tuning_vessels)
        done.append(one)
        print(f"\n{name}\n{page.causes_table(one).to_string(index=False)}")
        print("\n".join(page.facts(one)), flush=True)
    bins = page.reliability_bins(done)
    print(f"\n{bins.to_string(index=False)}")
    if asked.alone:
        return
    tables, texts = {}, {"run": page.run_text(done, asked)}
    for one in done:
        kind = one.instruments.split()[0]
        tables[f"ways-{kind}"], tables[f"causes-{kind}"] = page.ways_table(one), page.causes_table(one)
        texts[f"facts-{kind}"] = page.listed(page.facts(one))
        print(f"\n{one.instruments}\n{tables[f'ways-{kind}'].to_string(index=False)}")
    if asked.write is not None:
        drawings = {"detection": charts.ways(done), "reliability": charts.reliability(bins)}
        page.write(asked.write, tables, texts, drawings)


def _arguments(arguments: list[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        "python -m benchmarks.quality",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    add = parser.add_argument
    add("--seeds", type=_seeds, default=(301, 302), help="of the fleets that are judged")
    add("--vessels", type=int, default=26, help="in each of these fleets")
    add("--healthy", type=int, default=4, help="of these without a fault")
    add("--tuning-seeds", type=_seeds, default=(201, 202), help="of the healthy fleets that set thresholds")
    add("--tuning-vessels", type=int, default=20, help="in each of these")
    add("--days", type=int, default=730, help="of readings")
    add("--minutes", type=int, default=10, help="between readings")
    add("--baseline", type=int, default=365, help="days that count as healthy")
    add("--alone", action="store_true", help="without rivals")
    add("--write", type=Path, metavar="DOCS", help="the folder of detection.md")
    return parser.parse_args(arguments)


def _seeds(text: str) -> tuple[int, ...]:
    return tuple(int(part) for part in text.split(","))


if __name__ == "__main__":
    main()
