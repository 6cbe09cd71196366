"""A tag that shows two neighbouring values in turn for days, where it usually shows many a day: frozen, but for the
last step of its scale."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sevenppb.detect.quality.hourly import Floats, Hours

# common practice, no source
_LEAST_HOURS = 5 * 24  # with readings: a few quiet days are none
_MANY = 6  # values that a tag shows on all but few days
_FEW = 0.1  # share of those days
_ABOUT = 14  # days before and after that must show so many too: a quiet season is none
_WHOLE = 12  # hours with readings in a day that counts
_ONE_STEP = 1.5  # of the tag's scale: further apart are no neighbours
_IN_TURN = 0.05  # of the hours that show the rarer value: below, stuck.py finds where the other one stands

_DAY = 24

Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Flicker:
    """Hours `first` to `last` (positions) in which a tag shows two `values` alone, the usual one first."""

    first: int
    last: int
    values: tuple[float, float]


def find(hours: Hours, counts: Bools) -> tuple[Flicker, ...]:
    """A tag's flickers in the hours of `counts` (a mask): the others neither count nor end one."""
    low, high = (_by_day(np.where(counts, extreme, np.nan)) for extreme in (hours.low, hours.high))
    both = np.sort(np.concatenate([low, high], axis=1), axis=1)
    shown = (np.diff(both, axis=1) > 0).sum(axis=1) + np.isfinite(both[:, 0])
    whole = np.isfinite(low).sum(axis=1) >= _WHOLE
    quiet = shown <= 2
    if not (quiet & whole).any() or np.median(shown[whole]) < _MANY:
        return ()
    apart = np.diff(np.unique(both[np.isfinite(both)]))
    step = float(np.quantile(apart, 0.1))
    found = []
    for first, last in _stretches(both, quiet):
        others = whole.copy()
        others[first : last + 1] = False
        near = others.copy()
        near[: max(first - _ABOUT, 0)] = near[last + _ABOUT + 1 :] = False
        if _lively(shown[others]) and _lively(shown[near]):
            flicker = _to_the_hour(low.ravel(), high.ravel(), first, last)
            if flicker and abs(flicker.values[0] - flicker.values[1]) < _ONE_STEP * step:
                found.append(flicker)
    return tuple(found)


def _by_day(value: Floats) -> Floats:
    """A row a day of hourly values, NaN after the last."""
    return np.pad(value, (0, -len(value) % _DAY), constant_values=np.nan).reshape(-1, _DAY)


def _lively(shown: npt.NDArray[np.int64]) -> bool:
    """Whether a tag shows many values on all but few days."""
    return len(shown) > 0 and float(np.quantile(shown, _FEW)) >= _MANY


def _stretches(both: Floats, quiet: Bools) -> Iterator[tuple[int, int]]:
    """First and last day of each stretch of quiet days, of which all show the same two values; `both` has the sorted
    values of each."""
    first, last, values = 0, -1, set[float]()
    for day in [*np.flatnonzero(quiet).tolist(), len(quiet) + 1]:
        row = both[day] if day < len(quiet) else np.empty(0)
        more = {float(v) for v in row[np.isfinite(row)]}
        if day == last + 1 and len(values | more) <= 2:
            last, values = day, values | more
            continue
        if (last - first + 3) * _DAY > _LEAST_HOURS:
            yield first, last
        first, last, values = day, day, more


def _to_the_hour(low: Floats, high: Floats, first: int, last: int) -> Flicker | None:
    """The flicker of the days `first` to `last`, with the hours before and after that show the same."""
    days = slice(first * _DAY, (last + 1) * _DAY)
    values, times = np.unique(np.concatenate([low[days], high[days]]), return_counts=True)
    values, times = values[np.isfinite(values)], times[np.isfinite(values)]
    if len(values) < 2:
        return None
    filled = np.isfinite(low)
    ends = np.flatnonzero(filled & ~(np.isin(low, values) & np.isin(high, values)))
    before, after = ends[ends < days.start], ends[ends >= days.stop]
    start, stop = (before[-1] + 1 if len(before) else 0), (after[0] if len(after) else len(low))
    own = start + np.flatnonzero(filled[start:stop])
    rarer = (low[own] == values[np.argmin(times)]) | (high[own] == values[np.argmin(times)])
    if len(own) < max(_LEAST_HOURS, (own[-1] - own[0]) / 2) or rarer.mean() < _IN_TURN:
        return None
    usual, other = values[np.argsort(-times)].tolist()
    return Flicker(int(own[0]), int(own[-1]), (usual, other))
