"""How far the steam valve opens at the high loads of an incident's last weeks, as read and without the change."""

import numpy as np
from numpy.typing import NDArray

from sevenppb.detect.expected import Days

VALVE = "steam_valve"
HIGH = (
    0.9  # share of days on which the valve is no wider open: the next high load is met by what is left there
)


def opening(
    days: Days, recent: NDArray[np.intp], levels: dict[str, tuple[float, float]]
) -> tuple[float, float] | None:
    """Opening [fraction] as read on the `recent` rows of days, and as it would be without the change. None where it is
    not watched. `levels`: by feature, what was read on average and what would have been without it [its unit]."""
    if VALVE not in levels:
        return None
    seen, without = levels[VALVE]
    read = float(days.seen[VALVE].iloc[recent].quantile(HIGH))
    return read, read - (seen - without)
