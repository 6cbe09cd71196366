"""How much of a change is still there once an alarm found it going back: what hangs on the load can show less in one
season and be back in the next without having gone."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sevenppb.detect.diagnosis import odd_days
from sevenppb.detect.diagnosis.change import Change
from sevenppb.detect.diagnosis.likelihood import STANDING_SHARE
from sevenppb.detect.drift.innovations import Whitener
from sevenppb.detect.expected import Days

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Left:
    """The share of a change that is left, 1 for all of it; its standard error is infinite where nothing would show."""

    share: float
    error: float


def remaining(days: Days, white: tuple[Whitener, ...], change: Change, turned: int, showing: Array) -> Left:
    """What all residuals together show of a change's effects from row `turned` on, by generalised least squares.

    showing  [n, F] what each residual would show on each day of all that it showed of the change before
    """
    residual = odd_days.without(days, odd_days.odd_days(days, len(days.index), told=True))
    since = (np.arange(len(days.index)) >= turned).astype(float)
    shares, weights = [], []
    for f, w in enumerate(white):
        effect = float(change.effect[f])
        if not np.isfinite(change.error[f]) or effect == 0.0:
            continue
        before = effect * change.course * (1.0 - since)
        left, all_of_it, shown = w(
            np.column_stack([residual[:, f] - before, effect * since, effect * since * showing[:, f]])
        ).T
        whole, seen = float(all_of_it @ all_of_it), float(shown @ shown)
        if seen > 0.0:
            doubt = np.hypot(days.tolerance[f] / effect, STANDING_SHARE)
            shares.append(float(shown @ left) / seen)
            weights.append(1.0 / (1.0 / seen + doubt**2 * whole / seen))
    if not weights:
        return Left(0.0, float("inf"))
    return Left(float(np.average(shares, weights=weights)), float(np.sum(weights) ** -0.5))
