"""What one change is while the watch goes on, and as it is seen from some day: dated, explained, beside the others."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sevenppb.detect.balance.health import HIDDEN
from sevenppb.detect.causes import CAUSES
from sevenppb.detect.diagnosis import change as changes
from sevenppb.detect.diagnosis import likelihood, search
from sevenppb.detect.diagnosis.change import Change
from sevenppb.detect.diagnosis.likelihood import Diagnosis, Patterns
from sevenppb.detect.diagnosis.search import Alarm, Break, Mended, Search
from sevenppb.detect.diagnosis.signatures import Cause
from sevenppb.detect.drift.innovations import Whitener
from sevenppb.detect.expected import Days
from sevenppb.detect.settings import Settings

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Episode:
    """One change: its alarms in order, what it did to each residual, what explains it, and the row on which it was
    found reversed (None: still there)."""

    alarms: tuple[Alarm, ...]
    change: Change
    diagnosis: Diagnosis
    ended: int | None
    returned: bool


@dataclass(frozen=True)
class Watched:
    """What the watch of one vessel read and found, and the rows on which work gave it new levels."""

    days: Days
    found: Search
    patterns: Patterns
    work: tuple[Mended, ...]
    settings: Settings

    def diagnosed(
        self,
        change: Change,
        standing: Array,
        earlier: tuple[Array, ...] = (),
        at_work: frozenset[Cause] = frozenset(),
    ) -> Diagnosis:
        """As likelihood.diagnose."""
        return likelihood.diagnose(
            self.days,
            change,
            self.patterns,
            self.found.correlation,
            self.settings,
            earlier,
            at_work,
            standing,
        )


@dataclass(frozen=True)
class Open:
    """An episode while the watch goes on: its alarms, the days of those that were sure, effects so far, what explains
    it, rows of its onset, of the first going back, of its end and of its first end (None: not yet), whether it
    went away and came back, and the days of alarms that found more of it gone back when it had ended."""

    alarms: tuple[Alarm, ...]
    sure: frozenset[int]
    effect: Array
    cause: Cause
    onset: int
    turned: int | None = None
    ended: int | None = None
    first_end: int | None = None
    returned: bool = False
    afterwards: frozenset[int] = frozenset()


def seen_before(
    watched: Watched, group: Open, groups: list[Open], seen_to: int
) -> tuple[Episode, tuple[Whitener, ...]]:
    """The episode seen from the day before row `seen_to`, beside the levels that other episodes left, and what whitened
    the residuals; one that went away and came back is dated and explained by its first stretch."""
    days, first, turned = watched.days, group.alarms[0], turn(group)
    end = seen_to if turned is None else max(turned, first.day + 1)
    white = search.whiteners(days, (*watched.work, *(b for b in levels(days, group, groups) if b.day < end)))
    change = changes.fit_change(
        days, white, first.since, (first.day, min(group.alarms[-1].day, end - 1)), end
    )

    def explained(change: Change) -> Diagnosis:
        standing = standing_beside(tuple(o for o in groups if o is not group), change)
        return watched.diagnosed(change, standing, at_work=mended_then(watched, group))

    diagnosis = explained(change)
    # Alarms before the change could have begun were chance, but for sure ones: then it began then, and shows little
    # between where it hangs on the load.
    alarms = tuple(a for a in group.alarms if a.day >= change.onset_low or a.day in group.sure)
    if not alarms:
        alarms = group.alarms
        change = changes.fit_change(days, white, first.since, (first.day, first.day), end)
        diagnosis = explained(change)
    elif alarms[0].day < change.onset_low:
        seen = alarms[0].change
        change = replace(change, onset=seen.onset, onset_low=seen.onset_low, onset_high=seen.onset_high)
    # What was flagged had begun.
    change = replace(change, onset=min(change.onset, max(alarms[0].day, change.onset_low)))
    if CAUSES[diagnosis.explanations[0].cause].parameter in HIDDEN:
        change = replace(change, onset_low=max(_last_met(days, change) - changes.RAMPS[-1], first.since))
    returned = group.returned or change.shape == "intermittent"
    return Episode(alarms, change, diagnosis, group.ended, returned), white


def _last_met(days: Days, change: Change) -> int:
    """The last row, before a change could have begun, on which a load was met as high as usual where it shows: lower
    loads show nothing of it for months."""
    flow = np.nan_to_num(days.at.flow)
    shows = flow[change.onset : change.end]
    met = flow[: change.onset_low] >= np.median(shows[shows > 0.0]) if (shows > 0.0).any() else np.empty(0)
    return int(np.flatnonzero(met)[-1]) if met.any() else change.onset_low


def mended_then(watched: Watched, group: Open) -> frozenset[Cause]:
    """What work of about the day on which an episode ended put right: such a day is seldom chance."""
    if group.ended is None:
        return frozenset()
    near = (w.mends for w in watched.work if abs(w.done - group.ended) <= search.SETTLED)
    return frozenset().union(*near)


def standing_beside(others: tuple[Open, ...], change: Change) -> Array:
    """Effects [F] of other episodes that were there when a change began, in size."""
    there = [
        g.effect for g in others if g.onset < change.onset and (g.ended is None or g.ended > change.onset)
    ]
    return np.asarray(sum((abs(effect) for effect in there), np.zeros(len(change.effect))))


def levels(days: Days, group: Open, groups: list[Open]) -> tuple[Break, ...]:
    """The levels that other episodes left."""
    every = np.ones(len(days.features), dtype=bool)
    others = [other for other in groups if other is not group]
    rows = {day + 1 for other in others for day in (*(a.day for a in other.alarms), *other.afterwards)}
    rows |= {other.onset for other in others if other.onset > group.onset}
    rows |= {other.ended for other in others if other.ended is not None}
    return tuple(Break(row, every) for row in sorted(rows))


def turn(group: Open) -> int | None:
    """The row of an episode's first going back; of one that went away and came back, that of its first end."""
    return group.turned if group.first_end is None else group.first_end


def plain(change: Change, told: Diagnosis) -> Array:
    """The effects that can be told from noise and that the likeliest explanation makes; the others as 0: what may
    repeat or reverse must be a pattern."""
    made = np.zeros(len(change.effect), dtype=bool)
    best = told.explanations[0]
    made[np.isfinite(change.error)] = (abs(best.pattern) > 0.0) | (best.candidate is None)
    clear = abs(np.nan_to_num(change.effect / change.error)) >= 2.0
    return np.where(made & clear, np.nan_to_num(change.effect), 0.0)


def cause_of(told: Diagnosis) -> Cause:
    best = told.explanations[0]
    return best.cause, best.role, 0 if best.candidate is None else best.candidate.sign
