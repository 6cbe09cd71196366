"""What a baseline shorter than a year leaves open: a yearly wave that was learned from the wander of a few months goes
on growing behind them, and a change that undoes it looks as large as the wave."""

import numpy as np
from numpy.typing import NDArray

from sevenppb.detect.drift.innovations import Whitener
from sevenppb.detect.expected import Days
from sevenppb.detect.seasonal.terms import YEARLY_TERMS

Array = NDArray[np.float64]

YEAR = 365  # days of a baseline that has seen every season


def season_doubt(days: Days, white: tuple[Whitener, ...], course: Array, residual: Array, end: int) -> Array:
    """The standard error [F] that stands beside an effect's own: what the yearly terms, as learned before the change,
    add to it between the baseline and its course, times the share of the year that no baseline has seen. Days of the
    change teach no season: what it does that its course doesn't would look like a wave."""
    unseen = 1.0 - min(float(days.baseline.sum()) / YEAR, 1.0)
    there = course * (np.arange(len(course)) < end)
    if unseen == 0.0 or there.sum() == 0.0:
        return np.zeros(len(days.features))
    yearly = [k for k, name in enumerate(days.term_names) if name in YEARLY_TERMS]
    moved = there @ days.terms[:, yearly] / there.sum() - days.terms[days.baseline][:, yearly].mean(axis=0)
    onset = int(np.argmax(there > 0.0))
    added = [float(moved @ w.coefficients(residual[:, f], onset)[0][yearly]) for f, w in enumerate(white)]
    return np.asarray(unseen * abs(np.array(added)))
