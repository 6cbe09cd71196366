"""Alarms → episodes: which alarms are one change, when it eased, and what explains it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sevenppb.detect.diagnosis import change as changes
from sevenppb.detect.diagnosis import likelihood, search
from sevenppb.detect.diagnosis.change import Change
from sevenppb.detect.diagnosis.likelihood import Diagnosis
from sevenppb.detect.diagnosis.search import Alarm, Break, Search
from sevenppb.detect.diagnosis.signatures import Candidate, Instruments
from sevenppb.detect.expected import Days
from sevenppb.detect.settings import Settings

Array = NDArray[np.float64]

DOUBTFUL = 0.5  # probability of nothing, given what is known by then, from which an alarm or an episode is not told
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
    alarms: tuple[Alarm, ...]
    effect: Array
    causes: dict[tuple[str, str | None], float]
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
        told = likelihood.diagnose(
            days, seen, candidates, instruments, found.correlation, settings.discrepancy
        )
        if told.nothing > DOUBTFUL:
            continue
        effect = np.nan_to_num(seen.effect / seen.error)
        causes = {(e.cause, e.role): e.probability for e in told.explanations[:8]}
        home = _home(groups, effect, causes)
        if home is None:
            groups.append(_Open((alarm,), effect, causes))
        elif _cosine(groups[home].effect, effect) <= -ALIKE:
            groups[home] = _Open(groups[home].alarms, groups[home].effect, groups[home].causes, seen.onset)
        else:
            groups[home] = _Open((*groups[home].alarms, alarm), groups[home].effect, groups[home].causes)
    told_now = (_told(days, found, candidates, instruments, work, settings, group) for group in groups)
    return tuple(episode for episode in told_now if episode.diagnosis.nothing <= DOUBTFUL)


def _home(groups: list[_Open], effect: Array, causes: dict[tuple[str, str | None], float]) -> int | None:
    """The open episode that a new alarm belongs to, the latest first."""
    for i in range(len(groups) - 1, -1, -1):
        group = groups[i]
        if group.ended is not None:
            continue
        shared = sum(
            min(p, group.causes.get(key, 0.0)) for key, p in causes.items() if key[0] != "unexplained"
        )
        if abs(_cosine(group.effect, effect)) >= ALIKE or shared >= 0.3:
            return i
    return None


def _told(
    days: Days,
    found: Search,
    candidates: tuple[Candidate, ...],
    instruments: Instruments,
    work: tuple[Break, ...],
    settings: Settings,
    group: _Open,
) -> Episode:
    """The episode seen from the last day, beside the levels that other episodes left."""
    own = {a.day for a in group.alarms}
    every = np.ones(len(days.features), dtype=bool)
    others = tuple(Break(a.day + 1, every) for a in found.alarms if a.day not in own)
    end = len(days.index) if group.ended is None else max(group.ended, group.alarms[0].day + 1)
    others = tuple(b for b in others if b.day < end)
    white = search.whiteners(days, (*work, *others))
    first = group.alarms[0]
    change = changes.fit_change(days, white, first.since, first.day, end)
    diagnosis = likelihood.diagnose(
        days, change, candidates, instruments, found.correlation, settings.discrepancy
    )
    return Episode(group.alarms, change, diagnosis, group.ended)


def _cosine(a: Array, b: Array) -> float:
    size = float(np.linalg.norm(a) * np.linalg.norm(b))
    return float(a @ b) / size if size > 0 else 0.0
