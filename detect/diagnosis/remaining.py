"""How much of a change is still there once an alarm found it going back: what hangs on load can become less in one
season, and is back in the next, without having gone."""

import numpy as np
from numpy.typing import NDArray

from sevenppb.detect.diagnosis import odd_days
from sevenppb.detect.diagnosis.change import Change
from sevenppb.detect.drift.innovations import Whitener
from sevenppb.detect.expected import Days

Array = NDArray[np.float64]


def remaining(days: Days, white: tuple[Whitener, ...], change: Change, turned: int) -> float:
    """The share of a change's effects that all residuals together show from row `turned` on, by generalised least
    squares: 1 where it stayed as it was, 0 where it went or nothing was read since."""
    residual = odd_days.without(days, odd_days.odd_days(days, len(days.index), told=True))
    since = (np.arange(len(days.index)) >= turned).astype(float)
    shown = expected = 0.0
    for f, w in enumerate(white):
        effect = float(change.effect[f])
        if np.isfinite(change.error[f]) and len(w.days):
            until = residual[:, f] - effect * change.course * (1.0 - since)
            left, whole = w(np.column_stack([until, effect * since])).T
            shown += float(whole @ left)
            expected += float(whole @ whole)
    return shown / expected if expected > 0.0 else 0.0
