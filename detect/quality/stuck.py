"""A tag that stands exactly still although its neighbours move: a frozen transmitter, not a steady vessel."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from sevenppb.detect.quality.gaps import HOLD_HOURS
from sevenppb.detect.quality.hourly import Floats, Hours, Ints, summarise

LEAST_HOURS = 6  # shorter standstill is left to the spread: common practice, no source
_LIVELY_PER_RUN = 24  # moving hours for each long standstill: fewer, and standing still is the tag's nature
_TIMES_USUAL, _TIMES_LONG = 10.0, 3.0  # as long as so many of the tag's usual, and its long, standstills
_LONG = 0.05  # share of a tag's standstills that are long
_TIMES_APART = 3.0  # as far apart as readings usually are, beyond which some are missing
_MANY = 100  # standstills that tell so well what is usual that only much longer ones are looked at
_STEPS = 1.5  # of a tag's scale: usual moves below it are of one step
_TELLING = 5  # standstills that tell what is usual
_ABOUT = 24 * 14  # hours before and after a standstill that tell how far the tag moves then
_OTHERS_FROZEN = 2  # of a few: so many others may be frozen too, and say nothing of what is usual

Spans = npt.NDArray[np.int64]


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


@dataclass(frozen=True)
class Standstills:
    """A tag's standstills: `runs` are those of LEAST_HOURS or more, none where standing still is the tag's nature;
    `spans` (n, 2) are the first and last whole hours of all, long or short."""

    runs: tuple[Run, ...]
    spans: Spans

    def moved(self, hours: int) -> "Standstills":
        """The same on a row of hours that begins so much earlier."""
        runs = tuple(replace(r, first=r.first + hours, last=r.last + hours) for r in self.runs)
        return Standstills(runs, self.spans + hours)


def find(time: Ints, value: Floats, edge: Ints, hours: Hours) -> Standstills:
    """The standstills of a tag (ascending times; `edge` and `hours` as hourly.summarise gives them)."""
    filled = hours.count > 0
    flat = filled & ~_moves(hours)
    if not flat.any():
        return Standstills((), np.empty((0, 2), dtype=np.int64))
    spans = _spans(flat, filled, hours.median)
    lengths = spans[:, 1] - spans[:, 0] + 1
    long = lengths >= LEAST_HOURS
    if (filled & ~flat).sum() < _LIVELY_PER_RUN * long.sum():
        if len(spans) < _MANY or _coarse(hours.median[spans[:, 0]]):
            return Standstills((), spans)
        long = lengths > _TIMES_LONG * max(LEAST_HOURS, float(np.quantile(lengths, 1.0 - _LONG)))
    return Standstills(tuple(_exact(time, value, edge, int(a), int(b)) for a, b in spans[long]), spans)


def _coarse(held: Floats) -> bool:
    """Whether the values that a tag holds one after the other are mostly neighbours on its scale: then it stands until
    the plant has moved by a whole step, which may take weeks."""
    steps = np.abs(np.diff(held))
    steps = steps[steps > 0]
    return bool(len(steps) == 0 or np.median(steps) < _STEPS * np.quantile(steps, 0.1))


def out_of_habit(run: Run, inside: npt.NDArray[np.bool_], usual: Spans, held: Floats) -> bool:
    """Whether the hours `inside` (a mask) of a run are many more than the tag stands still by habit: than in its other
    standstills `usual`, at the values `held`. Where a tag is coarse for how little it moves about then, as an analyser
    near nothing, it is the longest of these days that tell what is usual."""
    other = (usual[:, 1] < run.first) | (usual[:, 0] > run.last)
    others, held = usual[other], held[other]
    near = (others[:, 1] > run.first - _ABOUT) & (others[:, 0] < run.last + _ABOUT)
    if near.sum() > _TELLING * _OTHERS_FROZEN and _coarse(held[near]):
        longest = np.sort(others[near, 1] - others[near, 0] + 1)[::-1][_OTHERS_FROZEN]
        if inside.sum() < _TIMES_LONG * longest:
            return False
    least = float(LEAST_HOURS)
    for some in (others, others[near]):
        lengths = np.sort(some[:, 1] - some[:, 0] + 1)[::-1]
        if len(lengths) < _TELLING:
            continue
        long_one = lengths[max(_OTHERS_FROZEN, int(_LONG * len(lengths)))]
        # where holds end by chance, as compression's do, only one of 100 exports of so many has one beyond this
        times_long = max(_TIMES_LONG, float(np.log(100 * len(lengths)) / np.log(1 / _LONG)))
        least = max(least, _TIMES_USUAL * float(np.median(lengths)), times_long * float(long_one))
    return bool(inside.sum() >= least)


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


def _spans(flat: npt.NDArray[np.bool_], filled: npt.NDArray[np.bool_], median: Floats) -> Spans:
    """First and last hour of each stretch of flat hours of one value. Empty hours do not end it while a value counts as
    held; after that only where the value stood for LEAST_HOURS on both sides, since a coarse tag's may come back."""
    where = np.flatnonzero(filled)
    apart = np.diff(where)
    lost = apart > max(HOLD_HOURS, _TIMES_APART * float(np.median(apart)) if len(apart) else 0.0)
    moved = (np.diff(median[where]) != 0) | ~flat[where][1:] | ~flat[where][:-1]
    starts = np.flatnonzero(np.concatenate([[True], lost | moved]))
    ends = np.append(starts[1:], len(where)) - 1
    stood = where[ends] - where[starts] + 1 >= LEAST_HOURS
    same = ~moved[starts[1:] - 1] & stood[1:] & stood[:-1]
    starts, ends = starts[np.append(True, ~same)], ends[np.append(~same, True)]
    keep = flat[where[starts]]
    return np.stack([where[starts[keep]], where[ends[keep]]], axis=1)


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


def neighbours_move(inside: npt.NDArray[np.bool_], others: Sequence[Hours]) -> bool | None:
    """Whether most of the other tags move in the hours `inside` (a mask), the first left out; None where none of them
    usually moves (not testable)."""
    moving, asked = 0, 0
    hours_inside = np.flatnonzero(inside)
    window = hours_inside[1:-1] if len(hours_inside) > 2 else hours_inside[1:]
    for hours in others:
        filled = hours.count > 0
        moves = filled & _moves(hours)
        if filled.sum() == 0 or moves.sum() < 0.5 * filled.sum() or filled[window].sum() == 0:
            continue
        asked += 1
        moving += bool(moves[window].sum() >= 0.5 * filled[window].sum())
    return None if asked == 0 else moving >= 0.5 * asked


def cut(hours: Hours, run: Run, inside: npt.NDArray[np.bool_]) -> Hours:
    """The hours without the run's readings in the hours `inside` (a mask)."""
    edges = np.array([run.first, run.last])
    kept = inside[edges]
    edge = Hours(*(getattr(run.edge, f)[kept] for f in Hours.__dataclass_fields__))
    return hours.without(inside).replaced(edges[kept], edge)
