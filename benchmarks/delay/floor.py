"""The floor: days to alarm of the best of seven charts that are told mean and standard deviation, with limits set by
simulation so that the stated rate holds exactly. No chart can be much faster; what is slower pays for not knowing."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

from benchmarks.calibration.residuals import remembered
from benchmarks.delay.drifts import SOON, course
from sevenppb.detect.drift import cusum

Array = NDArray[np.float64]

PATHS = 3000
WARM, HEALTHY, AFTER = 100, 730, 500  # days


def charts(y: Array) -> Iterator[Array]:
    """EWMA of two weights, CUSUM of two references, means and a slope over a window, by day; y [days, paths]."""
    for weight in (0.1, 0.03):
        yield lfilter([weight], [1.0, weight - 1.0], y, axis=0)
    for k in (0.25, 0.5):
        yield cusum.one_sided(y, k)
    for window in (28, 90):
        yield lfilter(np.full(window, 1.0 / window), [1.0], y, axis=0)
    yield lfilter(np.arange(89, -1, -1) - 44.5, [1.0], y, axis=0)


def limits(phi: float, rates: tuple[float, ...], rng: np.random.Generator) -> list[Array]:
    """Of each chart, for so many alarms a year of healthy days [a list of charts, rates]."""
    y = remembered(rng.standard_normal((WARM + HEALTHY, PATHS)), phi)
    silent = np.exp(-np.array(rates) * HEALTHY / 365.25)
    return [np.quantile(chart[WARM:].max(axis=0), silent) for chart in charts(y)]


def days(
    phi: float, shape: str, speeds: tuple[float, ...], limit: list[Array], rng: np.random.Generator
) -> tuple[Array, Array]:
    """Median days of the fastest chart [speeds, rates], and the share that the best one finds within SOON days."""
    noise = remembered(rng.standard_normal((WARM + AFTER, PATHS // 3)), phi)
    drift = course(shape, WARM + AFTER, WARM)[:, None]
    best = np.full((len(speeds), len(limit[0])), np.inf)
    soon = np.zeros_like(best)
    for i, speed in enumerate(speeds):
        for chart, height in zip(charts(noise + speed * drift), limit, strict=True):
            for j, at in enumerate(height):
                over = chart[WARM:] > at
                late = np.where(over.any(axis=0), over.argmax(axis=0) + 1.0, np.inf)
                best[i, j] = min(best[i, j], float(np.median(late)))
                soon[i, j] = max(soon[i, j], float(np.mean(late <= SOON)))
    return best, soon
