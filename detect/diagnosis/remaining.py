"""How much of a change is still there once an alarm found it going back: what hangs on the load can show less in one
season and be back in the next without having gone."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from sevenppb.detect.diagnosis import odd_days
from sevenppb.detect.diagnosis.change import Change
from sevenppb.detect.diagnosis.likelihood import STANDING_SHARE
from sevenppb.detect.drift.innovations import Whitener
from sevenppb.detect.expected import Days

Array = NDArray[np.float64]

HALF = 0.5  # of a change, above which a day is one of its days on
ROUNDING = 1e-9  # sum of squares below which nothing is there
TURNING = (
    3  # days before and after the turn that say nothing of either side: it may be dated wrong by so much
)


@dataclass(frozen=True)
class Left:
    """The share of a change that is left, 1 for all of it; its standard error is infinite where nothing would show."""

    share: float
    error: float


def remaining(
    days: Days, white: tuple[Whitener, ...], change: Change, turned: int, end: int, showing: Array
) -> Left:
    """What all residuals together show of a change's effects from row `turned` on and before row `end`, by generalised
    least squares.

    showing  [n, F] what each residual would show on each day of all that it showed of the change before
    """
    residual = odd_days.without(days, odd_days.odd_days(days, white, end, told=True))
    rows = np.arange(len(days.index))
    since = (rows >= turned).astype(float)
    turning = (rows[:, None] == np.arange(turned - TURNING, turned + TURNING + 1)).astype(float)
    shares, weights = [], []
    for f, w in enumerate(white):
        effect = float(change.effect[f])
        if not np.isfinite(change.error[f]) or effect == 0.0:
            continue
        before = effect * change.course * (1.0 - since)
        series = np.column_stack([residual[:, f] - before, effect * since, effect * since * showing[:, f]])
        known = w(np.column_stack([series, turning]), int(np.searchsorted(w.days, end)))
        left, all_of_it, shown = _beside(known[:, 3:], known[:, :3]).T
        whole, seen = float(all_of_it @ all_of_it), float(shown @ shown)
        if seen > ROUNDING:
            doubt = np.hypot(days.tolerance[f] / effect, STANDING_SHARE)
            shares.append(float(shown @ left) / seen)
            weights.append(1.0 / (1.0 / seen + doubt**2 * whole / seen))
    if not weights:
        return Left(0.0, float("inf"))
    return Left(float(np.average(shares, weights=weights)), float(np.sum(weights) ** -0.5))


def showing_days(days: Days, white: tuple[Whitener, ...], change: Change) -> NDArray[np.bool_]:
    """The days [n] on which more than half of a change shows, as the median of the day and its two neighbours has it;
    the season's part is taken from the days before the change's end."""
    shown, whole = np.zeros(len(days.index)), np.zeros(len(days.index))
    for f, w in enumerate(white):
        effect = float(change.effect[f])
        if not np.isfinite(change.error[f]) or effect == 0.0:
            continue
        value, _ = w.coefficients(days.residual[:, f] - effect * change.course, change.end)
        rest = days.residual[:, f] - w.terms @ value
        there, weight = ~np.isnan(rest), effect / days.noise[f].sd ** 2
        shown[there] += weight * rest[there]
        whole[there] += weight * effect
    share = pd.Series(np.where(whole > 0, shown / np.maximum(whole, 1e-300), np.nan))
    usual = share.rolling(3, center=True, min_periods=1).median().to_numpy()
    return np.asarray(usual > HALF)


def _beside(others: Array, values: Array) -> Array:
    """What is left of each column of `values` when the columns of `others` have explained what they can."""
    across, strength, _ = np.linalg.svd(others, full_matrices=False)
    across = across[:, strength > 1e-9]
    return np.asarray(values - across @ (across.T @ values))
