"""One tag's readings → its hours, with what had to be cut counted by reason. Whole years go through the
hourly order statistics; single readings are looked at only in hours whose extremes are suspicious."""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from sevenppb.detect.quality import bounds, gaps, spikes, stuck
from sevenppb.detect.quality.hourly import HOUR_US, Floats, Hours, Ints, edges, summarise, within

_FEW = 4  # readings in an hour

Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Limits:
    """What a tag can show, in its own unit: `low` to `high`. A spike is at least `floor` high, and at least
    `relative_floor` times the tag's usual value."""

    low: float
    high: float
    floor: float
    relative_floor: float = 0.0


@dataclass(frozen=True)
class Screened:
    """One tag after screening, from hour number `first_hour` (since 1970) on. `before` is `hours` before any
    cut; `numbers` counts the readings
    that are numbers, `readings` by hour those that passed; `cut` counts readings by reason; `runs` are
    standstills that only a look at the other tags can judge; `sparse` holds the readings that are stored by
    exception and wait to be held."""

    first_hour: int
    hours: Hours
    before: Hours
    numbers: int
    usual: float
    readings: Ints
    cut: dict[str, int]
    runs: tuple[stuck.Run, ...]
    sparse: tuple[Ints, Floats] | None


def screen(time: Ints, value: Floats, ends_hold: Bools | None, limits: Limits) -> Screened:
    """Readings in time's order [us], in the tag's unit; `ends_hold` marks readings (NaN) that the source
    calls bad, against such as are just not there (None: none). Without any reading the result has no
    hours."""
    first_hour, last_hour = (int(time[0]) // HOUR_US, int(time[-1]) // HOUR_US) if len(time) else (0, -1)
    edge = edges(time, first_hour, last_hour - first_hour + 1)
    value, found = _finite(value, edge)
    before, numbers = found, int(found.count.sum())
    usual = float(np.nanmedian(found.median)) if numbers else float("nan")
    floor = max(limits.floor, limits.relative_floor * abs(usual) if numbers else 0.0)
    sparse = gaps.by_exception(time, value, found.count)
    filled = np.flatnonzero(found.count)
    if sparse or (len(filled) and np.median(found.count[filled]) < _FEW):
        suspicious = filled  # too few readings an hour to see a spike by its hour
    else:
        ranges = bounds.suspects(found, limits.low, limits.high)
        suspicious = np.union1d(ranges, spikes.suspects(found, floor))
    cut: dict[str, int] = {}
    if len(suspicious):
        value, found, cut = _cleaned(value, found, edge, suspicious, replace(limits, floor=floor))
    held, runs = None, []
    if sparse:
        keep = np.isfinite(value) | (ends_hold if ends_hold is not None else False)
        held = (time[keep], value[keep])
    else:
        runs = stuck.runs(time, value, edge, found)
    return Screened(first_hour, found, before, numbers, usual, found.count, cut, tuple(runs), held)


def _finite(value: Floats, edge: Ints) -> tuple[Floats, Hours]:
    """The readings with infinities made NaN, and their hours."""
    found = summarise(value, edge)
    if not (np.isinf(found.low) | np.isinf(found.high)).any():
        return value, found
    value = np.where(np.isinf(value), np.nan, value)
    return value, summarise(value, edge)


def _cleaned(
    value: Floats, found: Hours, edge: Ints, suspicious: Ints, limits: Limits
) -> tuple[Floats, Hours, dict[str, int]]:
    """The values of suspicious hours without those out of range and the spikes."""
    noise = spikes.noise(value)
    value = value.copy()
    positions, own = within(edge, suspicious)
    outside = bounds.outside(value[positions], limits.low, limits.high)
    value[positions[outside]] = np.nan
    marked = np.zeros(len(value), dtype=np.bool_)
    for stretch in _stretches(edge, suspicious, len(value)):
        marked[stretch] |= spikes.mark(value[stretch], noise, limits.floor)
    here = marked[positions]  # the readings beside the hours serve as neighbours only
    value[positions[here]] = np.nan
    found = found.replaced(suspicious, summarise(value[positions], own))
    counted = {"out of range": outside, "spike": here}
    return value, found, {reason: int(which.sum()) for reason, which in counted.items()}


def _stretches(edge: Ints, which: Ints, readings: int) -> list[slice]:
    """Slices of readings over neighbouring hours, with a few readings more on both sides."""
    if len(which) == 0:
        return []
    breaks = np.flatnonzero(np.diff(which) > 1)
    starts, ends = which[np.append(0, breaks + 1)], which[np.append(breaks, len(which) - 1)]
    more = spikes.WIDEST + 1
    return [
        slice(max(int(edge[a]) - more, 0), min(int(edge[b + 1]) + more, readings))
        for a, b in zip(starts, ends, strict=True)
    ]


def placed(screened: Screened, first_hour: int, hours: int) -> Screened:
    """The same on a longer row of hours, which other tags need."""
    before = screened.first_hour - first_hour if len(screened.hours.count) else 0
    runs = tuple(replace(r, first=r.first + before, last=r.last + before) for r in screened.runs)
    after = hours - before - len(screened.hours.count)
    return replace(
        screened,
        first_hour=first_hour,
        hours=screened.hours.padded(before, after),
        before=screened.before.padded(before, after),
        readings=np.pad(screened.readings, (before, after)),
        runs=runs,
    )


def finished(screened: Screened, alive: Bools) -> Screened:
    """A tag stored by exception with its readings held; any other as it is."""
    if screened.sparse is None:
        return screened
    time, _ = screened.sparse
    grid, value = gaps.held(*screened.sparse, screened.first_hour, alive)
    edge = edges(grid, screened.first_hour, len(alive))
    found = summarise(value, edge)
    runs = [
        replace(run, readings=int(((time >= run.start) & (time <= run.end)).sum()))
        for run in stuck.runs(grid, value, edge, found)
    ]
    return replace(screened, hours=found, runs=tuple(runs))
