"""Local time → UTC, across the hours that a zone's clock repeats or skips."""

import datetime
import itertools
import zoneinfo
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Times = npt.NDArray[np.int64]
HOUR_US = 3_600_000_000
_STEPS_BACK = 20  # of a file in time's order: one an autumn
_CLOCKS_FROM, _CLOCKS_UNTIL = (
    -631_152_000_000_000,
    5_680_281_600_000_000,
)  # 1950 to 2150 [us]: absurd dates lie outside


@dataclass(frozen=True)
class Localised:
    """Local time made UTC: `utc` [us], `missing` marks times that the zone's clock skips (None: none), and
    `undecided` counts times of a repeated hour that nothing tells apart (taken as the first)."""

    utc: Times
    missing: npt.NDArray[np.bool_] | None
    undecided: int


def starts(local: Times, begins: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
    """Where rows of several files, which begin at these positions, must be looked at apart to tell the passes of a
    repeated hour: where a file does not go on after the one before it."""
    if len(begins) == 0 or len(local) == 0:
        return begins[:0]
    edges = np.unique(np.concatenate([[0], begins[begins < len(local)]]))
    lasts = np.append(edges[1:], len(local)) - 1
    low, high = np.minimum.reduceat(local, edges), np.maximum.reduceat(local, edges)
    forwards = local[edges] <= local[lasts]
    goes_on = (low[1:] > high[:-1]) & forwards[1:] & forwards[:-1]
    apart: npt.NDArray[np.int64] = edges[1:][~goes_on]
    return apart


def passes(local: Times, zone: str, apart: npt.NDArray[np.int64]) -> npt.NDArray[np.int8] | None:
    """For each row of one file, or of several that are `apart` from these positions on, in which pass of an hour that
    the zone's clock repeats it lies: 1 before the file's step back, 2 after it, 0 where there is none to tell. None
    where no file is in time's order, and its rows tell nothing of each other."""
    found = [_passes(part, zone) for part in np.split(local, apart)]
    if all(part is None for part in found):
        return None
    sizes = np.diff(np.concatenate([[0], apart, [len(local)]]))
    return np.concatenate(
        [np.zeros(n, dtype=np.int8) if part is None else part for part, n in zip(found, sizes, strict=True)]
    )


def _passes(local: Times, zone: str) -> npt.NDArray[np.int8] | None:
    if len(local) < 2 or zone == "UTC":
        return None
    step = np.diff(local)
    backwards = local[0] > local[-1]
    against = np.flatnonzero(step > 0 if backwards else step < 0)
    if len(against) > _STEPS_BACK or (np.abs(step[against]) > HOUR_US).any():
        return None
    ordered = local[::-1] if backwards else local
    marked = np.zeros(len(local), dtype=np.int8)
    for at, before, after in _changes(zone, int(local.min()), int(local.max())):
        inside = np.flatnonzero((ordered >= at + after) & (ordered < at + before))
        stepped = np.diff(ordered[inside], prepend=ordered[inside[:1]]) < 0
        if stepped.any():
            marked[inside] = np.where(np.cumsum(stepped) > 0, 2, 1)
    return marked[::-1] if backwards else marked


def to_utc(
    local: Times, zone: str, known: npt.NDArray[np.int8] | None, apart: npt.NDArray[np.int64]
) -> Localised:
    """Wall-clock microseconds, in the order of one file, or of several that are `apart` from these positions on, → UTC.
    Of an hour that the clock repeats, times lie in the pass that is `known`; else in the second once the times have
    stepped back, or directly after their equal."""
    if len(apart) == 0 or zone == "UTC":
        return _to_utc(local, zone, known)
    cuts = [0, *apart.tolist(), len(local)]
    found = [
        _to_utc(local[a:b], zone, None if known is None else known[a:b]) for a, b in itertools.pairwise(cuts)
    ]
    missing = None
    if any(part.missing is not None for part in found):
        missing = np.concatenate(
            [np.zeros(len(p.utc), dtype=np.bool_) if p.missing is None else p.missing for p in found]
        )
    return Localised(np.concatenate([p.utc for p in found]), missing, sum(p.undecided for p in found))


def _to_utc(local: Times, zone: str, known: npt.NDArray[np.int8] | None) -> Localised:
    if len(local) == 0 or zone == "UTC":
        return Localised(local, None, 0)
    utc = local.copy()
    missing = None
    undecided = 0
    changes = _changes(zone, int(local.min()), int(local.max()))
    first = _offset(zone, int(local.min()) - 2 * 24 * HOUR_US)
    backwards = local[0] > local[-1]  # newest first: the passes come in the other order
    bounds = np.array([at + before for at, before, _ in changes], dtype=np.int64)
    offsets = np.array([first, *(after for _, _, after in changes)], dtype=np.int64)
    utc -= offsets[np.searchsorted(bounds, local, side="right")] if changes else first
    for at, before, after in changes:
        low, high = sorted((at + before, at + after))
        inside = np.flatnonzero((local >= low) & (local < high))
        if len(inside) == 0:
            continue
        if after > before:
            missing = np.zeros(len(local), dtype=np.bool_) if missing is None else missing
            missing[inside] = True
            continue
        order = inside[::-1] if backwards else inside
        if known is None or not known[order].all():
            step = np.diff(local[order], prepend=local[order[0]] - 1)
            second = np.cumsum(step < 0) > 0
            second |= (step == 0) & ~second
            undecided += 0 if second.any() else len(inside)
        else:
            second = known[order] == 2
        utc[order] = local[order] - np.where(second, after, before)
    return Localised(utc, missing, undecided)


def changes(zone: str, start: int, end: int, near: int) -> bool:
    """Whether the zone's clock changes in a span [us UTC], or less than `near` from it."""
    return zone != "UTC" and _offset(zone, start - near) != _offset(zone, end + near)


def _offset(zone: str, utc_us: int) -> int:
    known = min(max(utc_us, _CLOCKS_FROM), _CLOCKS_UNTIL)
    moment = datetime.datetime.fromtimestamp(known / 1e6, tz=zoneinfo.ZoneInfo(zone))
    shift = moment.utcoffset()
    return 0 if shift is None else int(shift.total_seconds()) * 1_000_000


def _changes(zone: str, start: int, end: int) -> list[tuple[int, int, int]]:
    """(UTC instant, offset before, offset after) of each change of the zone's clock about a span [us]."""
    found = []
    day = 24 * HOUR_US
    start, end = max(start, _CLOCKS_FROM), min(end, _CLOCKS_UNTIL)
    here = (start - 2 * day) // 60_000_000 * 60_000_000
    offset = _offset(zone, here)
    while here < end + 2 * day:
        there = here + day
        later = _offset(zone, there)
        if later != offset:
            low, high = here, there
            while high - low > 60_000_000:  # zones change on whole minutes
                middle = (low + high) // 120_000_000 * 60_000_000
                low, high = (middle, high) if _offset(zone, middle) == offset else (low, middle)
            found.append((high, offset, later))
        here, offset = there, later
    return found
