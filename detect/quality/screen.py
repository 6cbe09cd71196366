"""One tag's readings → its hours, with what had to be cut counted by reason. Whole years go through the
hourly order statistics; single readings are looked at only in hours whose extremes are suspicious."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from sevenppb.detect.quality import bounds, gaps, spikes, stuck
from sevenppb.detect.quality.hourly import HOUR_US, Floats, Hours, Ints, edges, summarise, within

_FEW = 4  # readings in an hour
_NOTHING = 0.05  # of the tag's high values

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
    that are numbers, `readings` by hour those that passed; `cut` counts readings by reason; `still` are
    standstills that only a look at the other tags can judge; `sparse` holds the readings that are stored by
    exception and wait to be held."""

    first_hour: int
    hours: Hours
    before: Hours
    numbers: int
    usual: float
    readings: Ints
    cut: dict[str, int]
    still: stuck.Standstills
    sparse: tuple[Ints, Floats] | None


def screen(
    time: Ints, value: Floats, ends_hold: Bools | None, limits: Limits, known_sparse: bool | None = None
) -> Screened:
    """Readings in time's order [us], in the tag's unit; `ends_hold` marks readings (NaN) that the source
    calls bad, against such as are just not there (None: none). `known_sparse` says whether the tag is stored by
    exception where earlier readings have told. Without any reading the result has no hours."""
    first_hour, last_hour = (int(time[0]) // HOUR_US, int(time[-1]) // HOUR_US) if len(time) else (0, -1)
    edge = edges(time, first_hour, last_hour - first_hour + 1)
    value, found = _finite(value, edge)
    before, numbers = found, int(found.count.sum())
    usual = float(np.nanmedian(found.median)) if numbers else float("nan")
    floor = max(limits.floor, limits.relative_floor * _running(found.median) if numbers else 0.0)
    sparse = gaps.by_exception(time, value, found.count) if known_sparse is None else known_sparse
    filled = np.flatnonzero(found.count)
    if sparse or (len(filled) and np.median(found.count[filled]) < _FEW):
        suspicious = filled  # too few readings an hour to see a spike by its hour
    else:
        ranges = bounds.suspects(found, limits.low, limits.high)
        suspicious = np.union1d(ranges, spikes.suspects(found, floor))
    cut: dict[str, int] = {}
    if len(suspicious):
        limits = replace(limits, floor=floor)
        value, found, cut = _cleaned(time if sparse else None, value, found, edge, suspicious, limits)
    held, still = None, stuck.Standstills((), np.empty((0, 2), dtype=np.int64))
    if sparse:
        keep = np.isfinite(value) | (ends_hold if ends_hold is not None else False)
        held = (time[keep], value[keep])
    else:
        still = stuck.find(time, value, edge, found)
    return Screened(first_hour, found, before, numbers, usual, found.count, cut, still, held)


def _finite(value: Floats, edge: Ints) -> tuple[Floats, Hours]:
    """The readings with infinities made NaN, and their hours."""
    found = summarise(value, edge)
    if not (np.isinf(found.low) | np.isinf(found.high)).any():
        return value, found
    value = np.where(np.isinf(value), np.nan, value)
    return value, summarise(value, edge)


def _running(median: Floats) -> float:
    """The tag's usual value [its unit], without the hours in which it shows next to nothing."""
    size = np.abs(median[np.isfinite(median)])
    return float(np.median(size[size >= _NOTHING * np.quantile(size, 0.9)]))


def _cleaned(
    time: Ints | None, value: Floats, found: Hours, edge: Ints, suspicious: Ints, limits: Limits
) -> tuple[Floats, Hours, dict[str, int]]:
    """The values of suspicious hours without those out of range and the spikes; `time` of readings by exception."""
    noise = spikes.noise(value)
    value = value.copy()
    positions, own = within(edge, suspicious)
    outside = bounds.outside(value[positions], limits.low, limits.high)
    value[positions[outside]] = np.nan
    marked = np.zeros(len(value), dtype=np.bool_)
    for stretch in _stretches(edge, suspicious, len(value)):
        times = None if time is None else time[stretch]
        marked[stretch] |= spikes.mark(value[stretch], noise, limits.floor, times)
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


def stored_by_exception(earlier: Sequence[Screened]) -> bool | None:
    """What a tag's earlier spans have told; None where they hold too little."""
    told = [part.sparse is not None for part in earlier if part.numbers >= gaps.ENOUGH]
    return told[0] if told else None


def joined(parts: Sequence[Screened]) -> Screened:
    """One tag's spans, one after the other and without a common hour, as one."""
    filled = [part for part in parts if len(part.hours.count)]
    if len(filled) < 2:
        return filled[0] if filled else parts[0]
    first, last = filled[0].first_hour, filled[-1].first_hour + len(filled[-1].hours.count)
    ends = [*(part.first_hour for part in filled[1:]), last]
    rows = [
        placed(part, part.first_hour, end - part.first_hour) for part, end in zip(filled, ends, strict=True)
    ]
    before = _end_to_end([row.before for row in rows])
    cut = sum((Counter(part.cut) for part in parts), Counter())
    still = [row.still.moved(row.first_hour - first) for row in rows]
    sparse = [part.sparse for part in filled if part.sparse is not None]
    return Screened(
        first,
        _end_to_end([row.hours for row in rows]),
        before,
        sum(part.numbers for part in parts),
        float(np.nanmedian(before.median)) if before.count.any() else float("nan"),
        np.concatenate([row.readings for row in rows]),
        dict(cut),
        stuck.Standstills(tuple(r for s in still for r in s.runs), np.concatenate([s.spans for s in still])),
        (np.concatenate([t for t, _ in sparse]), np.concatenate([v for _, v in sparse])) if sparse else None,
    )


def _end_to_end(rows: Sequence[Hours]) -> Hours:
    return Hours(*(np.concatenate([getattr(row, f) for row in rows]) for f in Hours.__dataclass_fields__))


def placed(screened: Screened, first_hour: int, hours: int) -> Screened:
    """The same on a longer row of hours, which other tags need."""
    before = screened.first_hour - first_hour if len(screened.hours.count) else 0
    after = hours - before - len(screened.hours.count)
    return replace(
        screened,
        first_hour=first_hour,
        hours=screened.hours.padded(before, after),
        before=screened.before.padded(before, after),
        readings=np.pad(screened.readings, (before, after)),
        still=screened.still.moved(before),
    )


def finished(screened: Screened, alive: Bools) -> Screened:
    """A tag stored by exception with its readings held; any other as it is."""
    if screened.sparse is None:
        return screened
    grid, value = gaps.held(*screened.sparse, screened.first_hour, alive)
    edge = edges(grid, screened.first_hour, len(alive))
    found = summarise(value, edge)
    return replace(screened, hours=found, still=stuck.find(grid, value, edge, found))
