"""False alarms of the charts on made-up healthy residuals, beside the stated budget.

python -m benchmarks.calibration                    figures on the screen
python -m benchmarks.calibration --write docs       and into docs/statistics.md: ten minutes
"""

import argparse
from pathlib import Path

import numpy as np
import pandas as pd

from benchmarks.calibration import residuals
from benchmarks.calibration.residuals import Plan
from benchmarks.quality import page
from sevenppb.detect.settings import DEFAULTS

PLANS = [
    Plan(baseline=baseline, watched=watched, phi=phi)
    for baseline, watched in ((365, 365), (120, 610))
    for phi in (0.2, 0.5, 0.8)
]
SEED = 1000


def main(arguments: list[str] | None = None) -> None:
    """Run every plan, print its row, and fill the page if asked."""
    parser = argparse.ArgumentParser(
        "python -m benchmarks.calibration",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--years", type=float, default=500.0, help="vessel-years a row")
    parser.add_argument("--write", type=Path, help="folder of statistics.md")
    asked = parser.parse_args(arguments)
    counted = [counted_alarms(plan, asked.years) for plan in PLANS]
    rows = [
        row(str(plan.baseline), f"{plan.phi:.1f}", alarms, years)
        for plan, (alarms, years) in zip(PLANS, counted, strict=True)
    ]
    rows.append(row("all", "all", sum(alarms for alarms, _ in counted), sum(years for _, years in counted)))
    table = pd.DataFrame(rows)
    print(table.to_string(index=False))
    if asked.write is not None:
        at = asked.write / "statistics.md"
        text = page.filled(at.read_text(encoding="utf-8"), {"false-alarms": page.markdown(table)})
        at.write_text(text, encoding="utf-8")


def counted_alarms(plan: Plan, least: float) -> tuple[int, float]:
    """Vessels whose charts alarmed, and the years watched until then: vessel after vessel until there are so many."""
    alarmed, years, seed = 0, 0.0, SEED
    while years < least:
        made = residuals.vessel(plan, np.random.default_rng(seed))
        over = np.flatnonzero((residuals.watched(made, DEFAULTS) >= 1.0).any(axis=1))
        alarmed += len(over) > 0
        years += (over[0] + 1 if len(over) else plan.watched) / 365.25
        seed += 1
    return alarmed, years


def row(baseline: str, phi: str, alarms: int, years: float) -> dict[str, str]:
    """With a 90 % interval of the rate."""
    return {
        "baseline days": baseline,
        "correlation of a day with the next": phi,
        "vessel-years": f"{years:.0f}",
        "alarms a vessel-year": f"{alarms / years:.3f} ± {1.645 * np.sqrt(alarms) / years:.3f}",
    }


if __name__ == "__main__":
    main()
