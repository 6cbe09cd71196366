"""Days on which a reading lies far from its week: wild or frozen for a day or two, or a fault that comes and goes.

A day or two says nothing of a lasting change, and a step leaves the week's median. But what is odd again and again is
no accident of an instrument: those days are the fault's own. A week ends where a level is new: the first days after a
repair are odd beside the days before it, and would be taken for those.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from sevenppb.detect.drift.innovations import Whitener
from sevenppb.detect.expected import Days

Array = NDArray[np.float64]

ODD = 6.0  # standard deviations from the week's median, beyond which a day is odd
AGAIN = 30  # days within which odd days in two spells are no accident
BEFORE = 60  # days before the first of them, whose median is where the reading was
WEEK = 7  # days
SPELL = 2  # days from one odd day to the next in a spell


@dataclass(frozen=True)
class Odd:
    """Days before `end` far from the median of the week about them: that `middle` [end, F], which days are odd, and
    which of those are so again and again."""

    middle: Array
    odd: NDArray[np.bool_]
    again: NDArray[np.bool_]


def odd_days(days: Days, white: tuple[Whitener, ...], end: int, *, told: bool) -> Odd:
    """`white` [F] knows where a residual's level is new. `told`: whether an alarm was raised before. The level learned
    since is a mean of days on and days off, from which the days off of the same fault would look like another that
    comes and goes."""
    middle = _middle(days.residual[:end], white)
    off = days.residual[:end] - middle
    width = ODD * np.array([noise.sd for noise in days.noise])
    odd = abs(off) > width
    again = np.zeros_like(odd)
    for f in np.flatnonzero(odd.any(axis=0) & (not told)):
        for way in (odd[:, f] & (off[:, f] > 0.0), odd[:, f] & (off[:, f] < 0.0)):
            again[way, f] = _recurring(np.flatnonzero(way))
    return Odd(middle, odd, again)


def _middle(values: Array, white: tuple[Whitener, ...]) -> Array:
    """The median of the week about each day [end, F], of days of one level: those while it moved count on no side."""
    learned = np.full_like(values, np.nan)
    for f, w in enumerate(white):
        here = w.days[w.days < len(values)]
        learned[here, f] = values[here, f]
    out = np.empty_like(values)
    for fresh in {w.fresh for w in white}:
        alike = np.array([w.fresh == fresh for w in white])
        inside = sorted(row for row in set(fresh) if 0 < row < len(values))
        for start, stop in pairwise((0, *inside, len(values))):
            weeks = pd.DataFrame(learned[start:stop, alike]).rolling(WEEK, center=True, min_periods=3)
            out[start:stop, alike] = weeks.median().to_numpy()
    return out


def _recurring(rows: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Which of these days have another one within AGAIN days that is not of their own spell."""
    spell = np.cumsum(np.diff(rows, prepend=rows[:1]) > SPELL)
    near = abs(rows[:, None] - rows) <= AGAIN
    return np.asarray((near & (spell[:, None] != spell)).any(axis=1))


def without(days: Days, found: Odd) -> Array:
    """Residuals [n, F] in which an odd day takes its week's median. Days that are odd again and again stay."""
    out, end = days.residual.copy(), len(found.middle)
    out[:end] = np.where(found.odd & ~found.again, found.middle, out[:end])
    return out


def on_and_off(days: Days, found: Odd, onsets: tuple[int, int]) -> list[Array]:
    """Courses of faults that come and go [n], of each feature and direction that is odd again and again: the days that
    are nearer to where it goes than to where it was, in at least two spells, the first of which began between the rows
    `onsets`."""
    out, (first, last), end = [], onsets, len(found.middle)
    for f in np.flatnonzero(found.again[first:].any(axis=0)):
        values, width = days.residual[:end, f], ODD * days.noise[f].sd
        for sign in (1.0, -1.0):
            odd = np.flatnonzero(found.again[:, f] & (sign * (values - found.middle[:, f]) > 0.0))
            odd = odd[odd >= first]
            before = values[max(odd[0] - BEFORE, 0) : odd[0]] if len(odd) else values[:0]
            if np.isnan(before).all():
                continue
            away = np.nan_to_num(sign * (values - np.nanmedian(before)))
            on = away > 0.5 * max(width, float(np.median(away[odd])))
            on[: odd[0]] = False
            rows = np.flatnonzero(on)
            rows = rows[_recurring(rows)]
            if len(rows) and rows[0] <= last:
                course = np.zeros(len(days.index))
                course[rows] = 1.0
                course[end:] = course[end - 1]
                out.append(course)
    return out
