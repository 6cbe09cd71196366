"""Readings stored by exception: a value stands until the next one, but not for ever. A missing value of a tag
that is sampled regularly is a gap and is never filled."""

import numpy as np

from sevenppb.detect.quality.hourly import HOUR_US, Floats, Ints

HOLD_HOURS = 8  # a value is held this long at most: common practice for the longest interval, no source
_GRID_US = 60_000_000
_UNEVEN = 2.0  # long intervals over short ones: sampling by the clock stays below
ENOUGH = 20  # readings that tell how a tag is stored
_REPEATS = 0.05  # share of equal neighbours; storing by exception leaves next to none


def by_exception(time: Ints, value: Floats, counts: Ints) -> bool:
    """Whether a tag's readings (ascending, `counts` by hour) are stored only when they change: uneven
    intervals, and readings that follow closely differ."""
    filled = counts[np.flatnonzero(counts)[0] :] if counts.any() else counts
    if len(filled) < 3 or np.quantile(filled, 0.1) >= 0.8 * np.median(filled) > 0:
        return False
    real = np.isfinite(value)
    t, v = time[real], value[real]
    if len(t) < ENOUGH:
        return False
    step = np.diff(t)
    short, long = np.quantile(step, (0.1, 0.9))
    if long < 0.99 * _UNEVEN * max(short, 1):
        return False
    near = step <= np.median(step)
    return bool(np.mean(np.diff(v)[near] == 0.0) < _REPEATS)


def held(time: Ints, value: Floats, first_hour: int, alive: np.ndarray) -> tuple[Ints, Floats]:
    """The readings put on a grid of minutes, each held until the next, HOLD_HOURS at most, and only in hours
    in which the vessel's export is `alive` (any tag has readings). A NaN among them ends the hold: a bad
    value is no leave to go on with the last good one."""
    grid = first_hour * HOUR_US + np.arange(len(alive) * 60, dtype=np.int64) * _GRID_US
    grid = grid[np.repeat(alive, 60)]
    last = np.searchsorted(time, grid, side="right") - 1
    known = last >= 0
    grid, last = grid[known], last[known]
    fresh = grid - time[last] < HOLD_HOURS * HOUR_US
    return grid[fresh], value[last[fresh]]
