"""False incidents of whole scans on made-up plants in which nothing is wrong, beside the stated budget.

What the budget promises: charts, credibility, diagnosis and all. The plants' instruments wander, which no chart can
tell from a drift; the rest of the scan must.

python -m benchmarks.calibration.plants                    figures on the screen
python -m benchmarks.calibration.plants --write docs       and into docs/detection.md: an hour on two processors
"""

import argparse
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd

from benchmarks.quality import fleets, page, score
from benchmarks.quality.score import Rate
from sevenppb.synthetic.simulation import FleetPlan

INSTRUMENTS: dict[str, str | None] = {"every one": "all", "drawn": None}
VESSELS, DAYS, BASELINE, MINUTES = 10, 730, 180, 30  # of a fleet
SEED = 901  # and on: nothing was tuned on these


def main(arguments: list[str] | None = None) -> None:
    """Scan fleet after fleet, print, and fill the page if asked."""
    parser = argparse.ArgumentParser(
        "python -m benchmarks.calibration.plants",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--years", type=float, default=250.0, help="vessel-years a set of instruments")
    parser.add_argument("--vessels", type=int, default=VESSELS, help="in each fleet")
    parser.add_argument(
        "--days", type=int, default=DAYS, help=f"of readings, the first {BASELINE} as baseline"
    )
    parser.add_argument("--write", type=Path, help="folder of detection.md")
    asked = parser.parse_args(arguments)
    plan = FleetPlan(
        vessels=asked.vessels,
        healthy=asked.vessels,
        days=asked.days,
        step_minutes=MINUTES,
        baseline_days=BASELINE,
    )
    rates = {name: counted(replace(plan, roles=roles), asked.years) for name, roles in INSTRUMENTS.items()}
    total = Rate(sum(r.number for r in rates.values()), sum(r.vessel_years for r in rates.values()))
    table = pd.DataFrame([row(name, rate) for name, rate in (rates | {"all": total}).items()])
    print(table.to_string(index=False))
    if asked.write is not None:
        at = asked.write / "detection.md"
        text = page.filled(at.read_text(encoding="utf-8"), {"healthy": page.markdown(table)})
        at.write_text(text, encoding="utf-8")


def counted(plan: FleetPlan, least: float) -> Rate:
    """False incidents over so many vessel-years, two fleets at a time."""
    number, years, seed = 0, 0.0, SEED
    while years < least:
        rate = score.false_rate(fleets.judged(plan, (seed, seed + 1)))
        number, years, seed = number + rate.number, years + rate.vessel_years, seed + 2
        print(f"instruments {plan.roles}: {number} in {years:.0f} vessel-years", flush=True)
    return Rate(number, years)


def row(name: str, rate: Rate) -> dict[str, str]:
    """With a 90 % interval of the rate."""
    margin = page.Z90 * np.sqrt(rate.number) / rate.vessel_years
    return {
        "instruments": name,
        "vessel-years": f"{rate.vessel_years:.0f}",
        "false incidents": str(rate.number),
        "a vessel-year": f"{rate.per_year:.3f} ± {margin:.3f}",
    }


if __name__ == "__main__":
    main()
