"""Drifts put into made-up noise, and what the watch makes of them: one residual, as a scan works it out.

A day remembers the day before; sizes are in standard deviations of one day. The noise is estimated on the baseline, as
for a vessel: nothing of it is known. No steam, no plant, no season: `benchmarks/quality` has those."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from benchmarks.calibration.residuals import remembered
from sevenppb.detect.drift import change, innovations, watch
from sevenppb.detect.drift.innovations import Noise, Whitener
from sevenppb.detect.settings import DEFAULTS

Array = NDArray[np.float64]

MONTH = 365.25 / 12
BASELINE, BEFORE, AFTER = 365, 60, 400  # days: learned from; watched before the onset; and after it
SOON = 60  # days within which a drift should be found
SAME = 60.0  # days after which drifts of one speed, whatever their shape, have come equally far
STEADY = "steady"
SHAPES: dict[str, Callable[[Array], Array]] = {
    STEADY: lambda d: d / SAME,
    "quickening": lambda d: (d / SAME) ** 2,
    "slowing": lambda d: -np.expm1(-d / SAME) / -np.expm1(-1.0),
    "sawtooth, half cleaned off every 45 days": lambda d: d / SAME - 0.375 * np.floor(d / 45.0),
    "step": lambda d: np.minimum(d, 1.0),
}


def course(shape: str, days: int, onset: int) -> Array:
    """Drift by day for a speed of one standard deviation a month [days]; the onset is the first day that moves."""
    since = np.maximum(np.arange(days) - onset + 1.0, 0.0)
    return np.asarray(SHAPES[shape](since) * SAME / MONTH)


@dataclass(frozen=True)
class Made:
    """One residual's noise [days] and what the watch learned of it on the baseline."""

    series: Array
    noise: Noise
    white: Whitener


def made(phi: float, rng: np.random.Generator) -> Made:
    """Healthy: baseline and watch."""
    days = BASELINE + BEFORE + AFTER
    series = remembered(rng.standard_normal(days), phi)
    level, unknown = np.ones((days, 1)), np.array([np.inf])
    noise = innovations.estimate_noise(series[:BASELINE], level[:BASELINE], unknown)
    white = innovations.whitener(np.ones(days, dtype=bool), level, unknown, noise, level[:, 0])
    return Made(series, noise, white)


def heights(one: Made, drifts: Array, rate: float) -> Array:
    """The upward charts from the end of the baseline on [days, drifts], for drifts [days, m] put in, at `rate` false
    alarms a year upwards (and as many downwards)."""
    clean, moved = one.white(one.series), one.white(drifts)
    response = one.white.response()
    pair = response[:, None, None] * np.array([1.0, -1.0])
    k, weight = DEFAULTS.cusum_reference, DEFAULTS.ewma_weight
    charts = watch.charts_of(pair[:BASELINE], np.ones((1, 1)), [one.noise], 2.0 * rate, k, weight)
    healthy = clean[:BASELINE, None] * np.array([1.0, -1.0])
    charts = charts.raised(watch.checked(charts, healthy, 2.0 * rate))
    watched = (clean[:, None] + moved)[BASELINE:]
    up = [watch.chart_heights(np.column_stack([drifted, -drifted]), charts)[:, 0] for drifted in watched.T]
    return np.column_stack(up)


def delays(height: Array) -> Array:
    """Days from the onset to the alarm, that day included; infinite where none came; NaN where one came before."""
    over = height >= 1.0
    after = over[BEFORE:]
    found = np.where(after.any(axis=0), after.argmax(axis=0) + 1.0, np.inf)
    return np.where(over[:BEFORE].any(axis=0), np.nan, found)


@dataclass(frozen=True)
class Dated:
    """A ramp of `length` days: days by which its onset was told too late (below 0: too early), and whether the interval
    held it."""

    length: int
    late: int
    held: bool


def dated(one: Made, length: int, size: float, until: int) -> Dated:
    """Dating, on day `until` after the onset, of a ramp that comes to rest after `length` days at `size`."""
    onset = BASELINE + BEFORE
    since = np.maximum(np.arange(len(one.series)) - onset + 1.0, 0.0)
    y = one.series + size * np.minimum(since / length, 1.0)
    y -= y[:BASELINE].mean()
    told = change.fit(y[: onset + until], one.noise.sd, one.noise.phi, BASELINE, np.inf)
    return Dated(length, told.onset - onset, told.low <= onset <= told.high)
