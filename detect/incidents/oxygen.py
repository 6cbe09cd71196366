"""Outlet oxygen against its limit: as read lately, as it would be without the change, and when it passes the limit."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from sevenppb.detect.balance.health import DIRECT
from sevenppb.detect.balance.model import Conditions
from sevenppb.detect.causes import CAUSES
from sevenppb.detect.diagnosis.change import Change
from sevenppb.detect.diagnosis.likelihood import Explanation
from sevenppb.detect.expected import Days
from sevenppb.detect.incidents import projection
from sevenppb.detect.incidents.incident import LimitReached

OUTLET, INLET = "outlet_oxygen", "inlet_oxygen"
BEFORE = 28  # days that ran before the onset, most of which must be over the limit for it to have been passed before
WEEK = 7  # days read from a day on, most of which must be over the limit for it to have been passed that day


@dataclass(frozen=True)
class Lately:
    """Outlet oxygen over an incident's last weeks [ppb]: as read, as it would be without the change, and its limit.
    `over_before`: it was over the limit already before the change began."""

    read: float
    without: float
    limit: float
    over_before: bool

    @property
    def excess(self) -> float:
        """Over the limit [ppb]."""
        return max(self.read - self.limit, 0.0)

    @property
    def added(self) -> float | None:
        """What the change adds to the excess [ppb]; None where oxygen was not over the limit without it."""
        if not self.over_before or self.read < self.limit:
            return None
        return float(np.clip(self.read - self.without, 0.0, self.excess))


def lately(
    days: Days,
    best: Explanation,
    change: Change,
    recent: NDArray[np.intp],
    levels: dict[str, tuple[float, float]],
    factor: float,
    limit: float,
) -> Lately | None:
    """None where outlet oxygen is not read on the `recent` rows of days. `levels`: by feature in which the change can
    be told, what was read and what would have been without it [its unit]; `factor`: what the cause does to outlet
    oxygen.

    What would have been at the outlet is known for the inlet oxygen that was read. Where that is what the cause raised,
    it would have been less in the same proportion."""
    if OUTLET not in levels:
        read = _read(days).iloc[recent].mean()
        return (
            None if np.isnan(read) else Lately(read, read / factor, limit, _over_before(days, change, limit))
        )
    read, without = levels[OUTLET]
    if INLET in levels and DIRECT.get(CAUSES[best.cause].parameter or "") == INLET:
        without *= levels[INLET][1] / levels[INLET][0]
    return Lately(read, without, limit, _over_before(days, change, limit))


def _over_before(days: Days, change: Change, limit: float) -> bool:
    before = _read(days).iloc[: change.onset].dropna().iloc[-BEFORE:]
    return len(before) > 0 and float((before >= limit).mean()) > 0.5


def _read(days: Days) -> "pd.Series[float]":
    """Daily outlet oxygen [ppb]; NaN where it isn't read."""
    return days.seen[OUTLET] if OUTLET in days.seen else pd.Series(np.nan, days.index)


def limit_reached(
    days: Days, best: Explanation, change: Change, at: Conditions, oxygen: Lately | None
) -> LimitReached | None:
    """When outlet oxygen passed its limit by this change, or reaches it by the health extrapolated from what is read
    now. None where it was over before or the change lowers it, where it is over on scattered days alone, or where it
    isn't in sight."""
    if oxygen is None or best.candidate is None or CAUSES[best.cause].parameter is None:
        return None
    if oxygen.read >= oxygen.limit:
        anyway = oxygen.over_before or oxygen.read <= oxygen.without
        day = None if anyway else _passed(_read(days).iloc[change.onset :], oxygen.limit)
        return None if day is None else LimitReached(OUTLET, day, day, day)

    last = days.index[-1]

    def after(size: float) -> int | None:
        now = projection.outlook(days, best, change, at, size, 0).oxygen_factor
        return projection.days_to(oxygen.limit / oxygen.read * now, days, best, change, at, size)

    middle, late, soon = after(best.size), after(best.low), after(best.high)
    if middle is None:
        return None
    dates = [None if d is None else last + pd.Timedelta(days=d) for d in (soon, late)]
    return LimitReached(OUTLET, last + pd.Timedelta(days=middle), dates[0], dates[1])


def _passed(since: "pd.Series[float]", limit: float) -> pd.Timestamp | None:
    """The first day over the limit on which, and on the days read next, it mostly is; None if there is none."""
    over = since.dropna() >= limit
    lasting = over[::-1].rolling(WEEK, min_periods=1).mean()[::-1] > 0.5
    days = over.index[over & lasting]
    return days[0] if len(days) else None
