"""Alarms → episodes: which alarms are one change, when it eased, and what explains it."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sevenppb.detect.diagnosis import change as changes
from sevenppb.detect.diagnosis import likelihood, search
from sevenppb.detect.diagnosis.change import Change
from sevenppb.detect.diagnosis.likelihood import Again, Diagnosis
from sevenppb.detect.diagnosis.search import Alarm, Break, Search
from sevenppb.detect.diagnosis.signatures import Candidate, Instruments
from sevenppb.detect.expected import Days
from sevenppb.detect.settings import Settings

Array = NDArray[np.float64]

HALF_GONE = 0.5  # share of an episode's effect left below which it has ended
DOUBTFUL = (
    0.5  # probability of nothing, given what is known by then, from which an alarm or an episode is not told
)
ALIKE = (
    0.6  # cosine between two changes' effects, in standard errors, from which they are one (or its reverse)
)


@dataclass(frozen=True)
class Episode:
    """One change: its alarms in order, what it did to each residual, what explains it, and the row on which it was
    found reversed (None: still there)."""

    alarms: tuple[Alarm, ...]
    change: Change
    diagnosis: Diagnosis
    ended: int | None


@dataclass(frozen=True)
class _Open:
    """An episode while the watch goes on: its alarms, the first and the largest effects seen, rows of its onset and of
    its end (None: still there)."""

    alarms: tuple[Alarm, ...]
    effect: Array
    onset: int
    ended: int | None = None


def episodes(
    days: Days,
    found: Search,
    candidates: tuple[Candidate, ...],
    instruments: Instruments,
    work: tuple[Break, ...],
    settings: Settings,
) -> tuple[Episode, ...]:
    """Episodes in the order of their first alarms. An alarm counts if, on its day, something rather than nothing was
    the likelier; an episode is told if it still is on the last day."""
    every = np.ones(len(days.features), dtype=bool)
    groups: list[_Open] = []
    for i, alarm in enumerate(found.alarms):
        before = tuple(Break(a.day + 1, every) for a in found.alarms[:i])
        white = search.whiteners(days, (*work, *before))
        seen = changes.fit_change(days, white, alarm.since, alarm.day, alarm.day + 1)
        still = [k for k, group in enumerate(groups) if group.ended is None]
        told = likelihood.diagnose(
            days,
            seen,
            candidates,
            instruments,
            found.correlation,
            settings.discrepancy,
            tuple(groups[k].effect for k in still),
        )
        if told.nothing > DOUBTFUL:
            continue
        home = _home(groups, still, told.again)
        if home is None:
            groups.append(_Open((alarm,), seen.effect, seen.onset))
        else:
            k, back = home
            groups[k] = _joined(groups[k], alarm, seen, back)
    told_now = (
        _told(days, found, candidates, instruments, work, settings, group, groups) for group in groups
    )
    return tuple(episode for episode in told_now if episode.diagnosis.nothing <= DOUBTFUL)


def _home(groups: list[_Open], still: list[int], again: tuple[Again, ...]) -> tuple[int, bool] | None:
    """The open episode that an alarm belongs to, and whether it went back; None for something new."""
    if not again:
        return None
    shares = [
        (max(a.growing, a.going_back), k, a.going_back > a.growing) for a, k in zip(again, still, strict=True)
    ]
    total = sum(a.growing + a.going_back for a in again)
    _, k, back = max(shares)
    return (k, back) if total > 0.5 else None


def _joined(group: _Open, alarm: Alarm, seen: Change, back: bool) -> _Open:
    """The episode with one more alarm; effects add up, and what has gone back by more than half has ended."""
    effect = group.effect + np.nan_to_num(seen.effect)
    if not back:
        return replace(group, alarms=(*group.alarms, alarm), effect=effect)
    errors = np.nan_to_num(1.0 / seen.error)
    left = float(np.linalg.norm(effect * errors) / max(np.linalg.norm(group.effect * errors), 1e-9))
    if left < HALF_GONE:
        return replace(group, alarms=(*group.alarms, alarm), ended=seen.onset)
    return replace(group, alarms=(*group.alarms, alarm), effect=effect)


def _told(
    days: Days,
    found: Search,
    candidates: tuple[Candidate, ...],
    instruments: Instruments,
    work: tuple[Break, ...],
    settings: Settings,
    group: _Open,
    groups: list[_Open],
) -> Episode:
    """The episode seen from the last day, beside the levels that other episodes left."""
    every = np.ones(len(days.features), dtype=bool)
    first = group.alarms[0]
    end = len(days.index) if group.ended is None else max(group.ended, first.day + 1)
    own = {a.day for a in group.alarms}
    rows = {a.day + 1 for a in found.alarms if a.day not in own}
    rows |= {other.onset for other in groups if other is not group and other.onset > group.onset}
    others = tuple(Break(row, every) for row in sorted(rows) if row < end)
    white = search.whiteners(days, (*work, *others))
    change = changes.fit_change(days, white, first.since, first.day, end)
    diagnosis = likelihood.diagnose(
        days, change, candidates, instruments, found.correlation, settings.discrepancy
    )
    return Episode(group.alarms, change, diagnosis, group.ended)
