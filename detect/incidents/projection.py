"""What the incident does to oxygen and steam, now and later: health extrapolated through the forward function."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from sevenppb.detect.balance import model
from sevenppb.detect.balance.health import ADDITIVE
from sevenppb.detect.balance.model import Conditions
from sevenppb.detect.causes import CAUSES
from sevenppb.detect.diagnosis.change import Change
from sevenppb.detect.diagnosis.likelihood import Explanation
from sevenppb.detect.expected import Days
from sevenppb.detect.incidents.incident import LimitReached, Projected

WEEK = 7  # days between two projected ones
SHORTEST = 90  # days ahead that are told at least
BEYOND = 28  # days told beyond the limit's date, so that the crossing is seen
HORIZON = 365  # days looked ahead; a limit beyond is not reported


@dataclass(frozen=True)
class Outlook:
    """Factor on outlet oxygen and steam lost [kg/s] `ahead` days after the last reading, from the health alone."""

    oxygen_factor: float
    steam_lost: float


def outlook(
    days: Days, found: Explanation, change: Change, at: Conditions, size: float, ahead: int
) -> Outlook:
    """Outlook of one explanation at a size [signature steps] reached on the last day.

    at    usual conditions (one row) to judge at
    A ramp that is still growing goes on growing at its mean rate; every other change stays.
    """
    candidate = found.candidate
    if candidate is None or CAUSES[candidate.cause].parameter is None:
        return Outlook(1.0, 0.0)
    parameter = CAUSES[candidate.cause].parameter or ""
    last = len(days.index) - 1
    if growing(change, last):
        size *= (last - change.onset + 1 + ahead) / (last - change.onset + 1)
    step = candidate.sign * candidate.step * size
    step = step if parameter in ADDITIVE else float(np.clip(step, -3.0, 3.0))
    well = model.expected(at, days.fitted.health)
    sick = model.expected(at, days.fitted.health.moved(parameter, step))
    return Outlook(  # over the days on which the conditions are known
        float(np.nanmedian(sick.outlet_oxygen / well.outlet_oxygen)),
        max(float(np.nanmedian(sick.steam_flow - well.steam_flow)), 0.0),
    )


def growing(change: Change, last: int) -> bool:
    """A ramp that had not come to rest by the last day."""
    return change.shape == "ramp" and (change.full is None or change.full >= last - 7)


def days_to(
    factor: float, days: Days, found: Explanation, change: Change, at: Conditions, size: float
) -> int | None:
    """Days after the last reading until outlet oxygen has grown by `factor` in all; None if not within HORIZON."""
    if outlook(days, found, change, at, size, 0).oxygen_factor >= factor:
        return 0
    if not growing(change, len(days.index) - 1):
        return None

    def reached(ahead: int) -> bool:
        return outlook(days, found, change, at, size, ahead).oxygen_factor >= factor

    week = next((ahead for ahead in range(WEEK, HORIZON + WEEK, WEEK) if reached(ahead)), None)
    if week is None:
        return None
    day = next(ahead for ahead in range(week - WEEK + 1, week + 1) if reached(ahead))
    return day if day <= HORIZON else None


def projected(
    days: Days,
    found: Explanation,
    change: Change,
    at: Conditions,
    oxygen: float | None,
    limit: LimitReached | None,
) -> tuple[Projected, ...]:
    """Outlet oxygen by week from the last reading on, from `oxygen` as read lately [ppb] and the health extrapolated:
    over the limit's interval and somewhat beyond."""
    last = len(days.index) - 1
    if oxygen is None or found.candidate is None or not growing(change, last):
        return ()
    sizes = (found.size, found.low, found.high)
    now = [outlook(days, found, change, at, size, 0).oxygen_factor for size in sizes]
    rows = []
    for ahead in range(0, _reach(days.index[last], limit) + 1, WEEK):
        then = [outlook(days, found, change, at, size, ahead).oxygen_factor for size in sizes]
        value, *ends = (oxygen * later / first for later, first in zip(then, now, strict=True))
        rows.append(
            Projected(
                days.index[last] + pd.Timedelta(days=ahead), value, min(*ends, value), max(*ends, value)
            )
        )
    return tuple(rows)


def _reach(last: pd.Timestamp, limit: LimitReached | None) -> int:
    """Days ahead that are told."""
    if limit is None:
        return SHORTEST
    if limit.high is None:
        return HORIZON
    return int(np.clip((limit.high - last).days + BEYOND, SHORTEST, HORIZON))
