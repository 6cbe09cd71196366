"""Days to alarm of the watch beside the floor, its dating, and its finds on a simulated chemical plant.

python -m benchmarks.delay                    figures on the screen
python -m benchmarks.delay --write docs       and into docs/statistics.md: four minutes
"""

import argparse
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from benchmarks.delay import drifts, floor, tennessee
from benchmarks.delay.drifts import SHAPES, SOON, STEADY
from benchmarks.quality import page

Array = NDArray[np.float64]

PHIS = (0.0, 0.5, 0.8)
RATES = (1.0, 0.2)  # false alarms a year
SPEEDS = (0.25, 0.5, 1.0, 2.0, 4.0)  # standard deviations a month
USUAL_PHI, USUAL_SPEED = 0.5, 0.5  # at which shapes are compared
CLEAR_SPEED = 0.5  # standard deviations a month, from which drifts count together
LENGTHS = (30, 60, 90, 180)  # days of the ramps that are dated
LARGE = (2.0, 4.0, 8.0)  # standard deviations that they come to
MIDDLE = 0.674  # of a normal error: half are smaller [standard deviations]
AFTERWARDS = 60  # days after which they are dated again
SEED = 3000


def main(arguments: list[str] | None = None) -> None:
    """Measure, print, and fill the page if asked."""
    parser = argparse.ArgumentParser(
        "python -m benchmarks.delay",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--series", type=int, default=200, help="series of noise a correlation")
    parser.add_argument("--write", type=Path, help="folder of statistics.md")
    asked = parser.parse_args(arguments)
    found = pd.concat([measured(phi, asked.series) for phi in PHIS], ignore_index=True)
    tables = {
        "delays": by_speed(found),
        "pooled": together(found),
        "shapes": by_shape(found),
        "dates": dates(asked.series),
        "plant": plant(tennessee.watched(pd.read_parquet(tennessee.STORED))),
    }
    for table in tables.values():
        print(table.to_string(index=False), end="\n\n")
    if asked.write is not None:
        at = asked.write / "statistics.md"
        parts = {name: page.markdown(table) for name, table in tables.items()}
        at.write_text(page.filled(at.read_text(encoding="utf-8"), parts), encoding="utf-8")


def measured(phi: float, count: int) -> pd.DataFrame:
    """A row a shape, speed and rate: delays, the floor, and the alarms a year of the same series without a drift."""
    rng = np.random.default_rng(SEED)
    limit = floor.limits(phi, RATES, rng)
    least = {shape: floor.days(phi, shape, SPEEDS, limit, rng) for shape in SHAPES}
    days = drifts.BASELINE + drifts.BEFORE + drifts.AFTER
    courses = [drifts.course(shape, days, drifts.BASELINE + drifts.BEFORE) for shape in SHAPES]
    put_in = np.column_stack([speed * one for one in courses for speed in SPEEDS] + [np.zeros(days)])
    late: list[list[Array]] = [[] for _ in RATES]
    alarms, years = np.zeros(len(RATES)), np.zeros(len(RATES))
    for _ in range(count):
        one = drifts.made(phi, rng)
        for j, rate in enumerate(RATES):
            height = drifts.heights(one, put_in, rate)
            late[j].append(drifts.delays(height[:, :-1]))
            over = np.flatnonzero(height[:, -1] >= 1.0)
            alarms[j] += len(over) > 0
            years[j] += (over[0] + 1 if len(over) else len(height)) / 365.25
    rows = []
    for j, rate in enumerate(RATES):
        by_drift = np.array(late[j]).reshape(count, len(SHAPES), len(SPEEDS))
        for s, shape in enumerate(SHAPES):
            for v, speed in enumerate(SPEEDS):
                told = by_drift[:, s, v]
                rows.append(
                    {
                        "phi": phi,
                        "rate": rate,
                        "shape": shape,
                        "speed": speed,
                        "false": alarms[j] / years[j],
                        "floor": least[shape][0][v, j],
                        "floor_soon": least[shape][1][v, j],
                        "days": np.median(told[~np.isnan(told)]),
                        "soon": np.mean(told[~np.isnan(told)] <= SOON),
                    }
                )
    return pd.DataFrame(rows)


def by_speed(found: pd.DataFrame) -> pd.DataFrame:
    """Steady drifts."""
    rows = found[found["shape"] == STEADY]
    return pd.DataFrame(
        {
            "φ": rows["phi"].map("{:.1f}".format),
            "allowed": rows["rate"].map("{:.1f}".format),
            "came": rows["false"].map("{:.2f}".format),
            "σ a month": rows["speed"].map("{:.2f}".format),
            **_delays(rows),
            **_soon(rows),
        }
    )


def together(found: pd.DataFrame) -> pd.DataFrame:
    """All speeds from CLEAR_SPEED on, each as often as any other; steady drifts and all shapes, by correlation."""
    clear = found[found["speed"] >= CLEAR_SPEED]
    rows = []
    for name, drift in ((STEADY, clear[clear["shape"] == STEADY]), ("every shape", clear)):
        for rate in RATES:
            for phi in (*PHIS, None):
                own = drift[(drift["rate"] == rate) & ((drift["phi"] == phi) | (phi is None))]
                ratio = own["days"] / own["floor"]
                rows.append(
                    {
                        "drifts": name,
                        "allowed": f"{rate:.1f}",
                        "φ": "all" if phi is None else f"{phi:.1f}",
                        "ratio": f"{ratio.median():.2f}",
                        "largest ratio": f"{ratio.max():.2f}",
                        f"in {SOON} days": f"{own['soon'].mean():.0%}",
                        "the floor's": f"{own['floor_soon'].mean():.0%}",
                    }
                )
    return pd.DataFrame(rows)


def by_shape(found: pd.DataFrame) -> pd.DataFrame:
    """All shapes at one speed and correlation."""
    rows = found[(found["phi"] == USUAL_PHI) & (found["speed"] == USUAL_SPEED)]
    return pd.DataFrame(
        {
            "shape": rows["shape"],
            "allowed": rows["rate"].map("{:.1f}".format),
            **_delays(rows),
            **_soon(rows),
        }
    )


def _soon(rows: pd.DataFrame) -> dict[str, pd.Series]:
    return {
        f"in {SOON} days": rows["soon"].map("{:.0%}".format),
        "the floor's": rows["floor_soon"].map("{:.0%}".format),
    }


def _delays(rows: pd.DataFrame) -> dict[str, pd.Series]:
    return {
        "days": rows["days"].map("{:.0f}".format),
        "floor": rows["floor"].map("{:.0f}".format),
        "ratio": (rows["days"] / rows["floor"]).map("{:.2f}".format),
    }


def dates(count: int) -> pd.DataFrame:
    """Ramps dated when whole, and later. The floor is that of an onset estimated without bias from a ramp whose end and
    size are not known either, and from many days before and after (Cramér and Rao)."""
    rows = []
    long_run = (1.0 + USUAL_PHI) / (1.0 - USUAL_PHI)
    for size in LARGE:
        for length in LENGTHS:
            rng = np.random.default_rng(SEED + length)
            series = [drifts.made(USUAL_PHI, rng) for _ in range(count)]
            least = MIDDLE * 2.0 * np.sqrt(length * long_run) / size
            for until, said in ((length, "when whole"), (length + AFTERWARDS, f"{AFTERWARDS} days later")):
                told = [drifts.dated(one, length, size, until) for one in series]
                late = np.array([one.late for one in told])
                error = float(np.median(abs(late)))
                rows.append(
                    {
                        "ramp": str(length),
                        "to σ": f"{size:.0f}",
                        "dated": said,
                        "error": f"{error:.0f}",
                        "floor": f"{least:.0f}",
                        "of the ramp": f"{error / length:.0%}",
                        "late": str(round(float(np.median(late)))),
                        "held": f"{np.mean([one.held for one in told]):.0%}",
                    }
                )
    return pd.DataFrame(rows)


# Missed share of rows [%] and minutes to six in a row, on 48-hour runs in 3-minute samples, of another controller, with
# limits at 1 % of healthy rows; recomputed; agree with Russell, Chiang and Braatz 2000, Chemometrics and Intelligent
# Laboratory Systems 51, 81 (from memory).
OTHERS = {
    13: ("6.0 / 147", "4.4 / 108", "4.4 / 108", "7.1 / 174"),
    15: ("97.8 / –", "87.4 / 2022", "89.0 / 1737", "89.6 / 2154"),
    16: ("81", "7", "6", "32"),
}


def plant(runs: list[tennessee.Watched]) -> pd.DataFrame:
    """A row a fault, beside published methods."""
    rows = []
    for fault in tennessee.FAULTS:
        own = [run for run in runs if run.fault == fault]
        delay = np.array([run.delay for run in own])
        others = OTHERS.get(fault, ("",) * 4)
        rows.append(
            {
                "fault": f"{fault} {tennessee.NAMES[fault]}",
                "found": f"{np.isfinite(delay).sum()} of {len(own)}",
                "here": f"{100 * np.mean([run.missed for run in own]):.1f} / "
                + (f"{np.median(delay):.0f}" if np.isfinite(np.median(delay)) else "–"),
                "PCA T²": others[0],
                "CVA": others[1],
                "MEWMA": others[2],
                "CUSUM": others[3],
            }
        )
    healthy = sum(run.early for run in runs)
    rows.append({"fault": "none, 504 hours", "found": f"{healthy} false"})
    return pd.DataFrame(rows).fillna("")


if __name__ == "__main__":
    main()
