"""The watch on a simulated chemical plant whose faults have known onsets: the Tennessee Eastman process.

Downs and Vogel 1993, Computers and Chemical Engineering 17, 245; here the simulator of tep-studio (BSD-3), with its
controllers: 22 measurements and 11 valves. Faults 13 to 18 are what a slow watch is for, a drift of reaction kinetics,
sticking valves and changing heat transfer. There is no balance and no season here: residuals are departures from the
baseline's mean, and the candidates are a step in each of them.

python -m benchmarks.delay.tennessee    simulates afresh (pip install tep-studio; 10 minutes) into tests/published
"""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from sevenppb.detect.drift import innovations, watch
from sevenppb.detect.drift.innovations import Noise
from sevenppb.detect.settings import DEFAULTS

Array = NDArray[np.float64]

STORED = Path(__file__).parents[2] / "tests" / "published" / "tennessee_eastman.parquet"
NAMES = {
    13: "slow drift of the kinetics",
    14: "reactor's cooling valve sticks",
    15: "condenser's cooling valve sticks",
    16: "stripper's heat transfer",
    17: "reactor's heat transfer",
    18: "condenser's heat transfer",
}
FAULTS = tuple(NAMES)
RUNS = 3  # of each fault, and of the healthy plant
MINUTES = 30.0  # a row
SETTLE, BASELINE, BEFORE, AFTER = (
    60,
    150,
    8,
    40,
)  # hours: not used; of the first healthy run; about a fault's onset
HEALTHY = 120  # hours of each healthy run that are watched
APART = 50  # rows without readings between baseline and a run: nothing is remembered across
STEP = 0.01  # hours between the controllers' actions
DIGITS = 0.02  # of a baseline standard deviation, to which what is stored is rounded


@dataclass(frozen=True)
class Watched:
    """Heights of the highest chart in each row of a run [rows]; 1 is the limit. `fault` 0 is the healthy plant."""

    fault: int
    run: int
    heights: Array

    @property
    def early(self) -> bool:
        """Was there an alarm while nothing was wrong?"""
        healthy = self.heights if self.fault == 0 else self.heights[: _rows(BEFORE)]
        return bool((healthy >= 1.0).any())

    @property
    def delay(self) -> float:
        """Minutes from the onset to the end of the first row over the limit; infinite where there is none."""
        over = np.flatnonzero(self.heights[_rows(BEFORE) :] >= 1.0)
        return (over[0] + 1) * MINUTES if len(over) else np.inf

    @property
    def missed(self) -> float:
        """Share of rows after the onset below the limit."""
        return float(np.mean(self.heights[_rows(BEFORE) :] < 1.0))


def watched(stored: pd.DataFrame) -> list[Watched]:
    """The charts over every run: as a scan works, on residuals of the one baseline."""
    variables = [c for c in stored.columns if c not in {"fault", "run"}]
    runs = {key: part[variables].to_numpy(dtype=np.float64) for key, part in stored.groupby(["fault", "run"])}
    base = runs.pop((-1, 0))
    mean = base.mean(axis=0)
    level, unknown = np.ones((len(base), 1)), np.array([np.inf])
    noises = [innovations.estimate_noise(column, level, unknown) for column in (base - mean).T]
    return [
        Watched(int(fault), int(run), _heights(base - mean, part - mean, noises))
        for (fault, run), part in sorted(runs.items())
    ]


def _heights(base: Array, run: Array, noises: list[Noise]) -> Array:
    n, features = base.shape
    rows = np.vstack([base, np.full((APART, features), np.nan), run])
    level, unknown = np.ones((len(rows), 1)), np.array([np.inf])
    values, response = np.full_like(rows, np.nan), np.zeros_like(rows)
    for f, noise in enumerate(noises):
        white = innovations.whitener(~np.isnan(rows[:, f]), level, unknown, noise, level[:, 0])
        values[white.days, f], response[white.days, f] = white(rows[:, f]), white.response()
    correlation = watch.correlation(values[:n])
    moves = np.hstack([np.eye(features), -np.eye(features)])[None] * response[:, :, None]
    budget = DEFAULTS.false_alarms
    charts = watch.charts_of(
        moves[:n], correlation, noises, budget, DEFAULTS.cusum_reference, DEFAULTS.ewma_weight
    )
    score, _ = watch.scores(values, moves, correlation)
    charts = charts.raised(watch.checked(charts, score[:n], budget))
    return np.asarray(watch.chart_heights(score[n + APART :], charts).max(axis=1))


def _rows(hours: float) -> int:
    return round(hours * 60.0 / MINUTES)


def simulated() -> pd.DataFrame:
    """A row each half hour: `fault` (-1 the baseline, 0 healthy), `run`, and the means of measurements and valves."""
    parts = []
    for run in range(RUNS):
        first = BASELINE if run == 0 else 0
        rows = _means(_run(0, 5000 + run, SETTLE + first + HEALTHY))
        if run == 0:
            parts.append(rows.iloc[: _rows(first)].assign(fault=-1, run=0))
        parts.append(rows.iloc[_rows(first) :].assign(fault=0, run=run))
        parts += [
            _means(_run(fault, 1000 * run + fault, SETTLE + BEFORE + AFTER)).assign(fault=fault, run=run)
            for fault in FAULTS
        ]
    table = pd.concat(parts, ignore_index=True)
    keys = table[["fault", "run"]].astype("int8")
    values = table.drop(columns=["fault", "run"])
    spread = values[keys["fault"] == -1].std()
    moving = values.loc[:, spread > 0]  # three valves are not used by this control
    grain = DIGITS * spread[moving.columns]
    return pd.concat([keys, ((moving / grain).round() * grain).astype("float32")], axis=1)


def _run(fault: int, seed: int, hours: float) -> pd.DataFrame:
    """Measurements and valves at each of the controllers' actions after the settling hours."""
    import tep_studio

    flags = np.zeros(28)
    if fault:
        flags[fault - 1] = 1.0
    done = tep_studio.ClosedLoopSimulation(control_interval=STEP, horizon=float(hours)).run(
        seed=seed, disturbance_schedule=lambda t: flags if t >= SETTLE + BEFORE - STEP / 10 else 0.0 * flags
    )
    names = [name for name, *_ in tep_studio.list_measurements()[:22]]
    names += [name for name, *_ in tep_studio.list_manipulated_variables()]
    used = done.results[round(SETTLE / STEP) :]
    return pd.DataFrame([_values(at) for at in used], columns=names)


def _values(at: Any) -> Array:
    return np.concatenate([at.measurements[:22], at.implemented_action])


def _means(steps: pd.DataFrame) -> pd.DataFrame:
    per = round(MINUTES / 60.0 / STEP)
    return steps.groupby(np.arange(len(steps)) // per).mean()


if __name__ == "__main__":
    simulated().to_parquet(STORED, compression="zstd", index=False)
