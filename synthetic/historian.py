"""What a historian makes of readings: gaps, bad values, frozen stretches, outliers, compression, hours.

Rates are common practice from memory, no source.
"""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from sevenppb.synthetic.drivers import Clock
from sevenppb.synthetic.steam import Array

QUARTILES_TO_SIGMA = 1.349  # interquartile range over standard deviation of a normal distribution
FEWEST_FOR_SPREAD = 4


def kept(rng: np.random.Generator, readings: dict[str, Array], clock: Clock) -> dict[str, Array]:
    """The readings [role → (steps,)] as the historian gives them back; NaN where it has no good value."""
    n = len(clock)
    down = np.zeros(n, dtype=bool)  # the collector itself stands still
    for start, length in _spells(rng, clock, 3.0, 0.4):
        down |= (clock.day >= start) & (clock.day < start + min(length, 2.0))
    out = {}
    for role, values in readings.items():
        reading = values.copy()
        for start, length in _spells(rng, clock, 0.7, 0.6):
            inside = np.flatnonzero((clock.day >= start) & (clock.day < start + min(length, 4.0)))
            if len(inside):
                reading[inside] = reading[inside[0]]
        wild = rng.random(n) < 8e-5
        reading[wild] *= rng.choice([0.0, 0.5, 1.7, 3.0], size=int(wild.sum()))
        lost = down | (rng.random(n) < 4e-4)
        # an oxygen analyser is often out of service, other instruments seldom
        for start, length in _spells(rng, clock, 3.0 if role.endswith("oxygen") else 1.0, 1.0):
            lost |= (clock.day >= start) & (clock.day < start + min(length, 8.0))
        reading[lost] = np.nan
        out[role] = reading
    return out


def _spells(
    rng: np.random.Generator, clock: Clock, per_year: float, mean_days: float
) -> list[tuple[float, float]]:
    """(day it starts, length in days) of spells that come `per_year` times a year."""
    span = len(clock) * clock.step_minutes / 1440
    count = rng.poisson(per_year * span / 365.25)
    return list(
        zip(rng.uniform(0, span, count).tolist(), rng.exponential(mean_days, count).tolist(), strict=True)
    )


def compressed(values: Array, deadband: float, longest_steps: int) -> NDArray[np.bool_]:
    """Which of `values` (steps,) a historian stores that leaves out what lies within `deadband` of the last
    stored value, but stores one at least every `longest_steps`. A change to or from NaN is stored."""
    stored = np.zeros(len(values), dtype=bool)
    last, age = np.nan, longest_steps
    for i, value in enumerate(values.tolist()):
        age += 1
        if age > longest_steps or not abs(value - last) <= deadband:
            if value != value and last != last and age <= longest_steps:  # noqa: PLR0124  NaN after NaN
                continue
            stored[i], last, age = True, value, 0
    return stored


def hourly_frames(frame: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    """Native readings → hourly medians, spread within the hour (interquartile range / 1.349, NaN where fewer
    than four values) and the count of values, all on complete UTC hours, with the same columns."""
    minutes = round((frame.index[1] - frame.index[0]).total_seconds() / 60)
    per_hour = 60 // minutes
    hours = len(frame) // per_hour
    cube = frame.to_numpy(dtype=np.float64)[: hours * per_hour].reshape(hours, per_hour, -1)
    ordered = np.sort(cube, axis=1)  # NaN last
    count = (~np.isnan(cube)).sum(axis=1)

    def quantile(share: float) -> Array:
        place = np.maximum(count - 1, 0) * share
        below = np.floor(place).astype(int)
        above = np.minimum(below + 1, np.maximum(count - 1, 0))
        low = np.take_along_axis(ordered, below[:, None, :], axis=1)[:, 0, :]
        high = np.take_along_axis(ordered, above[:, None, :], axis=1)[:, 0, :]
        return np.asarray(low + (high - low) * (place - below))

    spread = (quantile(0.75) - quantile(0.25)) / QUARTILES_TO_SIGMA
    spread[count < FEWEST_FOR_SPREAD] = np.nan
    index = frame.index[: hours * per_hour : per_hour]
    names = list(frame.columns)
    return (
        pd.DataFrame(quantile(0.5), index=index, columns=names),
        pd.DataFrame(spread, index=index, columns=names),
        pd.DataFrame(count, index=index, columns=names),
    )
