"""A tag that changes its unit or its zero midway: gauge for absolute, degF for degC.

The mark is a step from one hour to the next that a known conversion explains, while no other tag steps, to where the
tag else never is: a load that steps comes back to the same levels."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sevenppb.detect.quality.hourly import Hours

_OUTSTANDING = 12.0  # robust standard deviations of the tag's own hourly moves
_FITS = 0.15  # of the step, by which the conversion may miss it
_QUIET = 6.0  # robust standard deviations, above which a neighbour steps as well
_LEAST_HOURS = 6  # on both sides
_WITHIN_HOURS = 96  # in which a neighbour must have readings on both sides to be asked
_MOST = 4  # changes of unit in a history; a load that steps fits a conversion more often
_ELSEWHERE = 0.25  # share of a stretch in another unit that lies where the tag else never is; chance: 0.02
_NOTHING = (
    0.1  # of the step: a value so near zero is a vessel that stands, and a start-up is no change of unit
)

Conversion = tuple[str, float, float]  # words, scale and offset


@dataclass(frozen=True)
class Jump:
    """Hours `wrong` (a mask) are in another unit than the rest: `what` says which."""

    what: str
    wrong: npt.NDArray[np.bool_]
    at: tuple[int, ...]


def conversions(quantity: str, barometer: float) -> list[Conversion]:
    """The mistakes a quantity's tag can make; `barometer` is in the tag's unit. Both ways of each are
    tried."""
    if quantity == "pressure":
        return [
            ("gauge and absolute", 1.0, barometer),
            ("psi and kPa", 6.894757, 0.0),
            ("kPa and bar", 100.0, 0.0),
        ]
    if quantity == "temperature":
        return [("degC and degF", 1.8, 32.0), ("degC and K", 1.0, 273.15)]
    if quantity == "flow":
        return [("t/h and lb/h", 2204.62, 0.0), ("t/h and klb/h", 2.20462, 0.0),
                ("t/h and kg/s", 1 / 3.6, 0.0), ("t/h and kg/h", 1000.0, 0.0)]  # fmt: skip
    if quantity in ("fraction", "level"):
        return [("a fraction and %", 100.0, 0.0)]
    return []


def find(hours: Hours, others: Sequence[Hours], known: Sequence[Conversion]) -> Jump | None:
    """The tag's change of unit, if there is one. The unit that holds for more hours is taken as the right
    one."""
    filled = np.flatnonzero(hours.count > 0)
    if len(filled) < 2 * _LEAST_HOURS or not known:
        return None
    median = hours.median[filled]
    step = np.diff(median)
    usual = max(1.4826 * float(np.median(np.abs(step))), 1e-9)
    jumps: list[tuple[int, str, int]] = []
    for k in map(int, np.flatnonzero(np.abs(step) > _OUTSTANDING * usual)):
        too_near = jumps and k - jumps[-1][0] < _LEAST_HOURS
        if too_near or min(k + 1, len(median) - k - 1) < _LEAST_HOURS:
            continue
        before = np.median(median[k + 1 - _LEAST_HOURS : k + 1])
        after = np.median(median[k + 1 : k + 1 + _LEAST_HOURS])
        if abs(step[k]) < 0.49 * abs(after - before):  # half, where the change falls within an hour
            continue
        found = _explained(before, after, known)
        if found and _neighbours_stay(int(filled[k]), int(filled[k + 1]), others):
            jumps.append((k, *found))
    if not 0 < len(jumps) <= _MOST:
        return None
    what = jumps[0][1]
    jumps = [j for j in jumps if j[1] == what]
    state = np.zeros(len(median), dtype=np.int64)
    for k, _, direction in jumps:
        state[k + 1 :] += direction
    values, counts = np.unique(state, return_counts=True)
    wrong = np.zeros(len(hours.count), dtype=np.bool_)
    wrong[filled] = state != values[np.argmax(counts)]
    if not _elsewhere(median, wrong[filled]):
        return None
    return Jump(what, wrong, tuple(int(filled[k + 1]) for k, _, _ in jumps))


def _elsewhere(median: npt.NDArray[np.float64], wrong: npt.NDArray[np.bool_]) -> bool:
    """Whether hours in another unit show what the others never do. Hours at standstill are no level."""
    runs = np.abs(median) > _NOTHING * np.median(np.abs(median))
    if not (runs & wrong).any() or not (runs & ~wrong).any():
        return False
    low, high = np.quantile(median[runs & ~wrong], [0.01, 0.99])
    there = median[runs & wrong]
    return bool(np.mean((there < low) | (there > high)) >= _ELSEWHERE)


def _explained(before: float, after: float, known: Sequence[Conversion]) -> tuple[str, int] | None:
    """The conversion that takes `before` to `after` (+1) or back (-1)."""
    step = abs(after - before)
    from_nothing = min(abs(before), abs(after)) < _NOTHING * step
    for what, scale, offset in known:
        if from_nothing and scale == 1.0:
            continue
        if abs(scale * before + offset - after) < _FITS * step:
            return what, 1
        if abs(scale * after + offset - before) < _FITS * step:
            return what, -1
    return None


def _neighbours_stay(before: int, after: int, others: Sequence[Hours]) -> bool:
    """Whether no other tag steps between two hours, as some would if the vessel moved. A tag without readings
    on both sides can't be asked; where none can, nothing is known and the answer is no."""
    asked = 0
    for hours in others:
        filled = np.flatnonzero(hours.count > 0)
        first = filled[(filled <= before) & (filled > before - _WITHIN_HOURS)][-_LEAST_HOURS:]
        then = filled[(filled >= after) & (filled < after + _WITHIN_HOURS)][:_LEAST_HOURS]
        if len(first) < _LEAST_HOURS or len(then) < _LEAST_HOURS:
            continue
        asked += 1
        usual = 1.4826 * float(np.median(np.abs(np.diff(hours.median[filled]))))
        moved = abs(np.median(hours.median[then]) - np.median(hours.median[first]))
        if moved > _QUIET * max(usual, 1e-9 * abs(np.median(hours.median[filled])), 1e-12):
            return False
    return asked > 0
