"""Readings stored by exception: a value stands until the next one, but not for ever. A missing value of a tag
that is sampled regularly is a gap and is never filled."""

import numpy as np

from sevenppb.detect.quality.hourly import HOUR_US, Floats, Ints

HOLD_HOURS = 8  # a value is held this long, or as long as its tag's heartbeat: common practice, no source
_LONGEST_HOURS = 24  # a heartbeat that is longer is rather a reading a day
_GRID_US = 60_000_000
_UNEVEN = 2.0  # long intervals over short ones: sampling by the clock stays below
ENOUGH = 20  # readings that tell how a tag is stored
_REPEATS = 0.05  # share of equal neighbours; storing by exception leaves next to none
_CHANGES = 5  # readings stored for a change that tell how far a value moves before it is
_LATE = 0.95  # of a heartbeat: the interval is over


def by_exception(time: Ints, value: Floats, counts: Ints) -> bool:
    """Whether a tag's readings (ascending, `counts` by hour) are stored only when they change: uneven
    intervals, and readings that follow closely differ; or even ones, where they are a heartbeat's."""
    filled = counts[np.flatnonzero(counts)[0] :] if counts.any() else counts
    if len(filled) < 3 or np.quantile(filled, 0.1) >= 0.8 * np.median(filled) > 0:
        return False
    real = np.isfinite(value)
    t, v = time[real], value[real]
    if len(t) < ENOUGH:
        return False
    step = np.diff(t)
    short, long = np.quantile(step, (0.1, 0.9))
    if long >= 0.99 * _UNEVEN * max(short, 1):
        near = step <= np.median(step)
        if np.mean(np.diff(v)[near] == 0.0) < _REPEATS:
            return True
    return heartbeat(t, v) is not None


def heartbeat(time: Ints, value: Floats) -> int | None:
    """The interval [us] after which a tag is stored although it has moved less than its deadband: it is the longest of
    the usual ones, and a reading that comes much earlier differs by more from the last than those that come then. None
    where nothing tells so; a sampling clock's early readings differ by as much as any. Readings are finite."""
    step, moved = np.diff(time), np.abs(np.diff(value))
    if len(step) < ENOUGH:
        return None
    beat = np.quantile(step, 0.9)
    early, whole = step < beat / _UNEVEN, (step >= _LATE * beat) & (step <= beat / _LATE)
    if beat > _LONGEST_HOURS * HOUR_US / _LATE or early.sum() < _CHANGES or whole.sum() < ENOUGH:
        return None
    by_change, by_clock = np.quantile(moved[early], 0.1), np.quantile(moved[whole], 0.9)
    return int(beat) if by_change > by_clock else None


def held(time: Ints, value: Floats, first_hour: int, alive: np.ndarray) -> tuple[Ints, Floats]:
    """The readings put on a grid of minutes, each held until the next, HOLD_HOURS or a longer heartbeat at most, and
    only in hours in which the vessel's export is `alive` (any tag has readings). A NaN among them ends the hold: a bad
    value is no leave to go on with the last good one."""
    real = np.isfinite(value)
    hold = max(HOLD_HOURS * HOUR_US, heartbeat(time[real], value[real]) or 0)
    grid = first_hour * HOUR_US + np.arange(len(alive) * 60, dtype=np.int64) * _GRID_US
    grid = grid[np.repeat(alive, 60)]
    last = np.searchsorted(time, grid, side="right") - 1
    known = last >= 0
    grid, last = grid[known], last[known]
    fresh = grid - time[last] < hold
    return grid[fresh], value[last[fresh]]
