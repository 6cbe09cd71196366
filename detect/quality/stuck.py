"""A tag that stands exactly still although its neighbours move: a frozen transmitter, not a steady vessel."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sevenppb.detect.quality.hourly import HOUR_US, Floats, Hours, Ints, summarise

LEAST_HOURS = 6  # shorter standstill is left to the spread: common practice, no source
_LIVELY_PER_RUN = 24  # moving hours for each long standstill: fewer, and standing still is the tag's nature
_TIMES_USUAL, _TIMES_LONG = 10.0, 3.0  # as long as so many of the tag's usual, and its long, standstills


@dataclass(frozen=True)
class Run:
    """A standstill: readings `start` to `end` [us], all of `value`, in hours `first` to `last` (positions,
    partly or wholly covered). `edge` has the first and last hour without the run's readings; `readings`
    counts these."""

    start: int
    end: int
    value: float
    first: int
    last: int
    readings: int
    edge: Hours


def runs(time: Ints, value: Floats, edge: Ints, hours: Hours) -> list[Run]:
    """The standstills of LEAST_HOURS or more that are out of the tag's own habit (ascending times; `edge` and
    `hours` as hourly.summarise gives them)."""
    filled = hours.count > 0
    flat = filled & ~_moves(hours)
    if not flat.any():
        return []
    spans = _spans(flat, filled, hours.median)
    lengths = np.array([last - first + 1 for first, last in spans])
    long = lengths >= LEAST_HOURS
    if not long.any() or (filled & ~flat).sum() < _LIVELY_PER_RUN * long.sum():
        return []
    found = []
    for k in np.flatnonzero(long):
        others = np.delete(lengths, k)
        usual, long_ones = np.quantile(others, (0.5, 0.95)) if len(others) >= 5 else (0.0, 0.0)
        if lengths[k] >= max(LEAST_HOURS, _TIMES_USUAL * usual, _TIMES_LONG * long_ones):
            found.append(_exact(time, value, edge, *spans[k]))
    return found


def _moves(hours: Hours) -> npt.NDArray[np.bool_]:
    """In which hours a tag moves: its readings differ; of a tag with one reading an hour, this differs from the
    last and from the next."""
    filled = np.flatnonzero(hours.count)
    if len(filled) < 2 or np.median(hours.count[filled]) > 1:
        moves: npt.NDArray[np.bool_] = hours.low < hours.high
        return moves
    moves = np.zeros(len(hours.count), dtype=np.bool_)
    differs = np.concatenate([[True], np.diff(hours.median[filled]) != 0, [True]])
    moves[filled] = (differs[:-1] & differs[1:]) | (hours.low < hours.high)[filled]
    return moves


def _spans(
    flat: npt.NDArray[np.bool_], filled: npt.NDArray[np.bool_], median: Floats
) -> list[tuple[int, int]]:
    """First and last hour of each stretch of flat hours of one value; empty hours do not end a stretch."""
    where = np.flatnonzero(filled)
    label = np.cumsum(
        np.concatenate([[True], (np.diff(median[where]) != 0) | ~flat[where][1:] | ~flat[where][:-1]])
    )
    keep = flat[where]
    where, label = where[keep], label[keep]
    starts = np.flatnonzero(np.diff(label, prepend=-1))
    ends = np.append(starts[1:], len(where)) - 1
    return [(int(where[a]), int(where[b])) for a, b in zip(starts, ends, strict=True)]


def _exact(time: Ints, value: Floats, edge: Ints, first: int, last: int) -> Run:
    """The run to the reading: it begins and ends within the hours next to the flat ones."""
    low, high = int(edge[first]), int(edge[last + 1])
    held = value[low:high][np.isfinite(value[low:high])][0]
    reach_low, reach_high = int(edge[max(first - 1, 0)]), int(edge[min(last + 2, len(edge) - 1)])
    while low > reach_low and value[low - 1] == held:
        low -= 1
    while high < reach_high and value[high] == held:
        high += 1
    first_hour = int(np.searchsorted(edge, low, side="right")) - 1
    last_hour = int(np.searchsorted(edge, high - 1, side="right")) - 1
    cut = value[edge[first_hour] : edge[last_hour + 1]].copy()
    cut[low - edge[first_hour] : high - edge[first_hour]] = np.nan
    both = (
        np.array([edge[first_hour], edge[first_hour + 1], edge[last_hour], edge[last_hour + 1]])
        - edge[first_hour]
    )
    sides = [
        summarise(cut[both[0] : both[1]], both[:2]),
        summarise(cut[both[2] : both[3]], both[2:] - both[2]),
    ]
    joined = Hours(*(np.concatenate([getattr(s, f) for s in sides]) for f in Hours.__dataclass_fields__))
    readings = int(np.isfinite(value[low:high]).sum())
    return Run(int(time[low]), int(time[high - 1]), float(held), first_hour, last_hour, readings, joined)


def at_stop(run: Run, stops: Sequence[tuple[float, float]]) -> bool:
    """Whether the run's value lies in one of the ranges where standing still is natural: a closed valve, no
    flow."""
    return any(low <= run.value <= high for low, high in stops)


def neighbours_move(run: Run, others: Sequence[Hours]) -> bool | None:
    """Whether most of the other tags move during the run; None where none of them usually moves (not
    testable)."""
    moving, asked = 0, 0
    window = slice(run.first + 1, max(run.last, run.first + 2))
    for hours in others:
        filled = hours.count > 0
        moves = filled & _moves(hours)
        if filled.sum() == 0 or moves.sum() < 0.5 * filled.sum() or filled[window].sum() == 0:
            continue
        asked += 1
        moving += bool(moves[window].sum() >= 0.5 * filled[window].sum())
    return None if asked == 0 else moving >= 0.5 * asked


def cut(hours: Hours, run: Run) -> Hours:
    """The hours without the run's readings."""
    inside = np.zeros(len(hours.count), dtype=np.bool_)
    inside[run.first : run.last + 1] = True
    return hours.without(inside).replaced(np.array([run.first, run.last]), run.edge)


def span_hours(run: Run) -> float:
    """The run's length [h]."""
    return (run.end - run.start) / HOUR_US
