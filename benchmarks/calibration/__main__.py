"""False alarms of the charts on made-up healthy residuals, beside the stated budget.

python -m benchmarks.calibration                    figures on the screen
python -m benchmarks.calibration --write docs       and into docs/statistics.md
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
    parser = argparse.ArgumentParser("python -m benchmarks.calibration", description=__doc__)
    parser.add_argument("--vessels", type=int, default=500, help="vessels a row")
    parser.add_argument("--write", type=Path, help="folder of statistics.md")
    asked = parser.parse_args(arguments)
    rows = [row(plan, asked.vessels) for plan in PLANS]
    table = pd.DataFrame(rows)
    print(table.to_string(index=False))
    if asked.write is not None:
        at = asked.write / "statistics.md"
        text = page.filled(at.read_text(encoding="utf-8"), {"false-alarms": page.markdown(table)})
        at.write_text(text, encoding="utf-8")


def row(plan: Plan, vessels: int) -> dict[str, str]:
    """Vessels whose charts alarmed, over the years watched until then, with a 90 % interval of the rate."""
    alarmed, years = 0, 0.0
    for seed in range(SEED, SEED + vessels):
        made = residuals.vessel(plan, np.random.default_rng(seed))
        over = np.flatnonzero((residuals.watched(made, DEFAULTS) >= 1.0).any(axis=1))
        alarmed += len(over) > 0
        years += (over[0] + 1 if len(over) else plan.watched) / 365.25
    margin = 1.645 * np.sqrt(alarmed) / years
    return {
        "baseline days": str(plan.baseline),
        "correlation of a day with the next": f"{plan.phi:.1f}",
        "vessel-years": f"{years:.0f}",
        "alarms a vessel-year": f"{alarmed / years:.3f} ± {margin:.3f}",
    }


if __name__ == "__main__":
    main()
