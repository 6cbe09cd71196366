"""Do thresholds from theory hold on the vessel's own days? A block bootstrap of its baseline.

Theory takes the scores for independent, normal and of unit variance, and counts correlated directions by a rule of
thumb. The baseline's own days, drawn in blocks so that what they remember of each other stays, need none of that."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

BLOCK = 14  # days that stay together
YEARS = 100  # drawn
LEAST = 30  # days with scores below which nothing is drawn
EULER = 0.5772  # a Gumbel's mean over its mode, in its scale


def needed(
    score: Array,
    up: tuple[float, Array],
    smooth: tuple[float, Array],
    budget: float,
    most: float,
    seed: int = 0,
) -> float:
    """Height, in thresholds, that the highest of all charts passes `budget` times a year on such days; 1 where theory
    holds.

    score   [n, J] of the baseline's days, NaN on days without readings; centred here, since a level is learned
    up      CUSUM's reference and threshold; `smooth`, EWMA's weight and threshold [standard deviations of a day]; one
            threshold, or one a column [J]
    most    score that a day can count for
    """
    days = score[~np.isnan(score).any(axis=1)]
    if len(days) < LEAST:
        return 1.0
    days = np.clip(days - np.median(days, axis=0), -most, most)  # a mean would follow a single wild day
    days -= days.mean(axis=0)
    rng = np.random.default_rng(seed)
    start = rng.integers(len(days), size=(365 // BLOCK + 1, YEARS))
    rows = ((start[:, None, :] + np.arange(BLOCK)[None, :, None]) % len(days)).reshape(-1, YEARS)[:365]
    summed, mean, most_summed, most_mean = np.zeros((4, YEARS, days.shape[1]))
    for row in rows:  # a day of all years and columns at once stays in the processor's cache
        drawn = days[row]
        summed = np.maximum(summed + (drawn - up[0]), 0.0)
        mean += smooth[0] * (drawn - mean)
        np.maximum(most_summed, summed, out=most_summed)
        np.maximum(most_mean, mean, out=most_mean)
    highest = np.maximum(most_summed / up[1], most_mean / smooth[1]).max(axis=1)
    # the highest of a year is a Gumbel's: its tail is smoother than the few highest years drawn
    scale = np.sqrt(6.0) / np.pi * highest.std()
    return float(highest.mean() - scale * (EULER + np.log(budget)))
