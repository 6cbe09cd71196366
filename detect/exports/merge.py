"""One tag's readings from several exports → one series in UTC and in time's order, each reading once."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sevenppb.detect.exports import values
from sevenppb.detect.exports.fetch import Floats, Kinds, Raw
from sevenppb.detect.exports.local_time import HOUR_US, Times

FARTHEST_YEARS = 50
FARTHEST_US = FARTHEST_YEARS * 8_766 * HOUR_US


@dataclass(frozen=True)
class Series:
    """`time` [us UTC, ascending, no time twice], `value` (NaN: none), `ends_hold` where the source calls a
    value bad. `dropped` counts readings by reason; `read` counts all readings, dropped ones too."""

    time: Times
    value: Floats
    ends_hold: npt.NDArray[np.bool_] | None
    dropped: Counter[str]
    read: int
    conflicting: int
    undecided: int


def merged(parts: Sequence[Raw], since: int | None, until: int | None) -> Series:
    """The parts in the order of the exports. Of readings with one time the last good one counts; the others
    are dropped as duplicates."""
    dropped: Counter[str] = Counter()
    times, numbers, kinds = [], [], []
    low, high = _believable(parts)
    for raw in parts:
        time, value, kind = raw.time, raw.value, raw.kind
        absurd = (time < low) | (time > high) if low is not None and high is not None else None
        if since is not None or until is not None or raw.missing is not None or absurd is not None:
            keep = _in_span(raw.time, since, until)
            if absurd is not None:
                dropped["no such time"] += int((absurd & keep).sum())
                keep &= ~absurd
            if raw.missing is not None:
                dropped["no such time"] += int((raw.missing & keep).sum())
                keep &= ~raw.missing
            time, value, kind = time[keep], value[keep], kind[keep] if kind is not None else None
        dropped["no such time"] += raw.untimed
        times.append(time)
        numbers.append(value)
        kinds.append(kind)
    undecided = sum(raw.undecided for raw in parts)
    read = sum(len(time) for time in times) + dropped["no such time"]
    time = times[0] if len(times) == 1 else np.concatenate(times)
    value = numbers[0] if len(numbers) == 1 else np.concatenate(numbers)
    kind = _joined(kinds, times)
    conflicting = 0
    if (time[1:] <= time[:-1]).any():
        order = _order(time, value)
        time, value, kind = time[order], value[order], kind[order] if kind is not None else None
        last = np.append(np.diff(time) != 0, True)
        if not last.all():
            conflicting = _conflicts(time, value)
            dropped["duplicate"] += int((~last).sum())
            time, value, kind = time[last], value[last], kind[last] if kind is not None else None
    if kind is None:
        return Series(time, value, None, dropped, read, conflicting, undecided)
    for number, count in enumerate(np.bincount(kind, minlength=len(values.KINDS))):
        if number != values.NUMBER and count:
            dropped[values.KINDS[number]] += int(count)
    return Series(time, value, kind > values.EMPTY, dropped, read, conflicting, undecided)


def _believable(parts: Sequence[Raw]) -> tuple[int | None, int | None]:
    """The earliest and latest time that a reading among these can have [us]: nobody's archive reaches
    FARTHEST years away from the middle of its readings. None where none lies outside."""
    times = [raw.time for raw in parts if len(raw.time)]
    if not times or max(int(t.max()) for t in times) - min(int(t.min()) for t in times) <= FARTHEST_US:
        return None, None
    middle = int(np.median(np.concatenate(times)))
    return middle - FARTHEST_US, middle + FARTHEST_US


def _in_span(time: Times, since: int | None, until: int | None) -> npt.NDArray[np.bool_]:
    inside = np.ones(len(time), dtype=np.bool_)
    if since is not None:
        inside &= time >= since
    if until is not None:
        inside &= time <= until
    return inside


def _joined(kinds: Sequence[Kinds | None], times: Sequence[Times]) -> Kinds | None:
    if all(kind is None for kind in kinds):
        return None
    filled = [
        k if k is not None else np.zeros(len(t), dtype=np.uint8) for k, t in zip(kinds, times, strict=True)
    ]
    return np.concatenate(filled)


def _order(time: Times, value: Floats) -> npt.NDArray[np.int64]:
    """By time; of equal times numbers after what is none, and else as they were read."""
    order = np.argsort(time, kind="stable")
    twice = np.flatnonzero(np.diff(time[order]) == 0)
    if len(twice) and np.isnan(value[order[np.union1d(twice, twice + 1)]]).any():
        return np.lexsort((np.isfinite(value), time))
    return order


def _conflicts(time: Times, value: Floats) -> int:
    """How many readings are dropped although their value differs from the one that is kept."""
    same = np.diff(time) == 0
    a, b = value[:-1][same], value[1:][same]
    return int((np.isfinite(a) & np.isfinite(b) & (a != b)).sum())
