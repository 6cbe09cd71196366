"""Alarms → episodes: which alarms are one change, when it eased, and what explains it."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sevenppb.detect.balance.health import HIDDEN
from sevenppb.detect.causes import CAUSES
from sevenppb.detect.diagnosis import change as changes
from sevenppb.detect.diagnosis import likelihood, search
from sevenppb.detect.diagnosis.change import Change
from sevenppb.detect.diagnosis.likelihood import Cause, Diagnosis, Patterns
from sevenppb.detect.diagnosis.remaining import remaining, showing_days
from sevenppb.detect.diagnosis.search import Alarm, Break, Search
from sevenppb.detect.drift.innovations import Whitener
from sevenppb.detect.expected import Days
from sevenppb.detect.settings import Settings

Array = NDArray[np.float64]

RECENT = 28  # days at an episode's end over which evidence and consequence are averaged
AFTERMATH = 60  # days after its end on which an alarm can still be an episode's going back
GONE = 0.35  # share of an episode's known effect that one alarm finds gone back, above which it has ended
STILL_THERE = 0.5  # share of an episode's effects, above which it has not ended whatever went back of them
DOUBTFUL = 0.5  # probability of nothing, given what is known by then, from which an alarm is not told
DROPPED = (
    0.65  # the same, above which what was told is told no more: a list that flickers loses what still runs
)
SURE = 0.05  # probability of nothing, below which an alarm stands whatever later readings date the change to


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
class _Watched:
    """What the watch of one vessel read and found, and the rows on which work gave it new levels."""

    days: Days
    found: Search
    patterns: Patterns
    work: tuple[Break, ...]
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
            self.settings.discrepancy,
            earlier,
            at_work,
            standing,
        )


@dataclass(frozen=True)
class _Open:
    """An episode while the watch goes on: its alarms, the days of those that were sure, effects so far, what explains
    it, rows of its onset, of the first going back, of its end and of its first end (None: not yet), and whether it
    went away and came back."""

    alarms: tuple[Alarm, ...]
    sure: frozenset[int]
    effect: Array
    cause: Cause
    onset: int
    turned: int | None = None
    ended: int | None = None
    first_end: int | None = None
    returned: bool = False


def judge(days: Days, patterns: Patterns, settings: Settings) -> search.Judge:
    """Whether a change, knowing nothing later, is more likely something than nothing."""

    def credible(seen: Change, correlation: Array) -> bool:
        if not likelihood.worth_asking(days, seen):
            return False
        nothing = likelihood.nothing(days, seen, patterns, correlation, settings.discrepancy)
        return nothing <= DOUBTFUL

    return credible


def episodes(
    days: Days, found: Search, patterns: Patterns, work: tuple[Break, ...], settings: Settings
) -> tuple[Episode, ...]:
    """Episodes in the order of their first alarms; an episode is told until, seen from the last day, it is more likely
    nothing than DROPPED."""
    watched = _Watched(days, found, patterns, work, settings)
    groups: list[_Open] = []
    for alarm in found.alarms:
        still = [k for k, g in enumerate(groups) if g.ended is None or alarm.day - g.ended < AFTERMATH]
        for k in still:
            groups[k] = _put_right(watched, groups[k], groups, alarm.day)
            groups[k] = _known_by(watched, groups[k], groups, alarm.change.onset)
        known = tuple(groups[k].effect for k in still)
        at_work = frozenset(groups[k].cause for k in still if groups[k].ended is None)
        standing = _standing(tuple(groups[k] for k in still), alarm.change)
        told = watched.diagnosed(alarm.change, standing, known, at_work)
        home = _home(groups, still, told)
        if home is None:
            effect, cause = _plain(alarm.change, told), _cause(told)
            groups.append(_Open((alarm,), frozenset(), effect, cause, alarm.change.onset))
            k = len(groups) - 1
        else:
            k, back = home
            groups[k] = _joined(groups[k], alarm, back)
        if told.nothing < SURE:
            groups[k] = replace(groups[k], sure=groups[k].sure | {alarm.day})
    groups = [_put_right(watched, g, groups, len(days.index)) for g in groups]
    told_now = [_told(watched, g, groups) for g in groups]
    merged = _merged(groups, told_now)
    if len(merged) < len(groups):
        told_now = [_told(watched, g, merged) for g in merged]
    return tuple(episode for episode in told_now if episode.diagnosis.nothing <= DROPPED)


def _standing(others: tuple[_Open, ...], change: Change) -> Array:
    """Effects [F] of other episodes that were there when a change began, in size."""
    there = [
        g.effect for g in others if g.onset < change.onset and (g.ended is None or g.ended > change.onset)
    ]
    return np.asarray(sum((abs(effect) for effect in there), np.zeros(len(change.effect))))


def _merged(groups: list[_Open], told_now: list[Episode]) -> list[_Open]:
    """Groups that turn out to have one cause are one: early alarms of a slow change can look like something else."""
    out: dict[object, _Open] = {}
    ends: dict[object, int | None] = {}  # of those in `out`, as told: what is still there has not ended
    for k, (opened, episode) in enumerate(zip(groups, told_now, strict=True)):
        cause = _cause(episode.diagnosis)
        doubtful = cause[0] == "unexplained" or episode.diagnosis.nothing > DOUBTFUL
        key = k if doubtful else cause
        # an alarm that was sure of something else dates nothing
        group = opened if opened.cause == cause else replace(opened, sure=frozenset())
        if key in out:
            first = out[key]
            went = ends[key]
            came_back = went is not None and group.onset > went
            end = first if went is not None and not came_back else group
            out[key] = replace(
                first,
                alarms=tuple(sorted((*first.alarms, *group.alarms), key=lambda alarm: alarm.day)),
                sure=first.sure | group.sure,
                turned=end.turned,
                ended=end.ended,
                first_end=first.first_end if came_back or first.first_end is not None else end.first_end,
                returned=first.returned or group.returned or came_back,
            )
        else:
            out[key], ends[key] = group, episode.ended
    return list(out.values())


def _home(groups: list[_Open], still: list[int], told: Diagnosis) -> tuple[int, bool] | None:
    """The episode that an alarm belongs to, and whether it went back; None for something new. An alarm belongs to an
    open episode whose pattern it repeats or reverses, or to the latest one with the same cause, even if that had
    ended: then it has come back."""
    if told.again and sum(a.growing + a.going_back for a in told.again) > 0.5:
        shares = [(max(a.growing, a.going_back), k, a) for a, k in zip(told.again, still, strict=True)]
        _, k, again = max(shares, key=lambda share: share[:2])
        return k, again.going_back > again.growing
    cause = _cause(told)
    same = [k for k, group in enumerate(groups) if group.cause == cause and cause[0] != "unexplained"]
    return (same[-1], False) if same else None


def _plain(change: Change, told: Diagnosis) -> Array:
    """The effects that can be told from noise and that the likeliest explanation makes; the others as 0: what may
    repeat or reverse must be a pattern."""
    made = np.zeros(len(change.effect), dtype=bool)
    best = told.explanations[0]
    made[np.isfinite(change.error)] = (abs(best.pattern) > 0.0) | (best.candidate is None)
    clear = abs(np.nan_to_num(change.effect / change.error)) >= 2.0
    return np.where(made & clear, np.nan_to_num(change.effect), 0.0)


def _cause(told: Diagnosis) -> Cause:
    best = told.explanations[0]
    return best.cause, best.role, 0 if best.candidate is None else best.candidate.sign


def _joined(group: _Open, alarm: Alarm, back: bool) -> _Open:
    """The episode with one more alarm; effects add up, and what has largely gone back has ended."""
    alarms, seen = (*group.alarms, alarm), alarm.change
    effect = group.effect + np.where(group.effect != 0.0, np.nan_to_num(seen.effect), 0.0)
    if not back:
        came_back = group.returned or group.ended is not None
        return replace(group, alarms=alarms, effect=effect, turned=None, ended=None, returned=came_back)
    turned = seen.onset if group.turned is None else group.turned
    weight = np.nan_to_num(1.0 / seen.error) * group.effect
    size = float(np.sum(weight**2))
    gone = -float(np.sum(weight * np.nan_to_num(seen.effect / seen.error))) / size if size > 0 else 0.0
    if group.ended is not None or gone <= GONE:
        return replace(group, alarms=alarms if group.ended is None else group.alarms, turned=turned)
    first_end = turned if group.first_end is None else group.first_end
    return replace(group, alarms=alarms, turned=turned, ended=turned, first_end=first_end)


def _known_by(watched: _Watched, group: _Open, groups: list[_Open], end: int) -> _Open:
    """An open episode as it was known before row `end`, where the next alarm's change began: its own alarm came as soon
    as anything could be seen, and knew little of how large it is. What looks like nothing by then keeps the cause that
    it was taken for: months beside a few wrong days know no better."""
    if group.ended is not None or end - group.alarms[-1].day < search.SETTLED:
        return group
    seen, _ = _seen(watched, group, groups, end)
    if seen.diagnosis.nothing > DOUBTFUL and _cause(seen.diagnosis) != group.cause:
        return group
    return replace(group, effect=_plain(seen.change, seen.diagnosis), cause=_cause(seen.diagnosis))


def _put_right(watched: _Watched, group: _Open, groups: list[_Open], end: int) -> _Open:
    """An open episode as ended by the first work after which, seen before row `end`, it was there no more: no alarm
    says so, since the levels are new from that day on."""
    for done in watched.work:
        if group.ended is not None or not group.alarms[0].day < done.day < end:
            continue
        seen, _ = _seen(watched, group, groups, done.day)
        white = _since(watched, group, groups, done.day)
        if not _still_there(watched, white, seen.change, seen.diagnosis, done.day, end):
            group = replace(group, turned=done.day, ended=done.day, first_end=done.day)
    return group


def _told(watched: _Watched, group: _Open, groups: list[_Open]) -> Episode:
    """The episode seen from the last day, its end asked again of all days since."""
    days, turned = watched.days, _turn(group)
    seen, white = _seen(watched, group, groups, len(days.index))
    if turned is not None:  # the days since count too, with the levels that others left in them
        white = _since(watched, group, groups, turned)
    change, ended = seen.change, seen.ended
    away = ended if turned is None else turned
    if seen.returned:
        ended = _quiet_since(showing_days(days, white, change))
    elif away is not None and _still_there(watched, white, change, seen.diagnosis, away, len(days.index)):
        ended = None
    return replace(seen, change=_as_of_late(days, white, change) if ended is None else change, ended=ended)


def _turn(group: _Open) -> int | None:
    """The row of an episode's first going back; of one that went away and came back, that of its first end."""
    return group.turned if group.first_end is None else group.first_end


def _levels(days: Days, group: _Open, groups: list[_Open]) -> tuple[Break, ...]:
    """The levels that other episodes left."""
    every = np.ones(len(days.features), dtype=bool)
    others = [other for other in groups if other is not group]
    rows = {a.day + 1 for other in others for a in other.alarms}
    rows |= {other.onset for other in others if other.onset > group.onset}
    rows |= {other.ended for other in others if other.ended is not None}
    return tuple(Break(row, every) for row in sorted(rows))


def _since(watched: _Watched, group: _Open, groups: list[_Open], turned: int) -> tuple[Whitener, ...]:
    """What whitens the residuals where the days from row `turned` on are held against those before, so that work of
    about that day has given nothing a new level."""
    work = (done for done in watched.work if abs(done.day - turned) > search.SETTLED)
    return search.whiteners(watched.days, (*work, *_levels(watched.days, group, groups)))


def _seen(
    watched: _Watched, group: _Open, groups: list[_Open], seen_to: int
) -> tuple[Episode, tuple[Whitener, ...]]:
    """The episode seen from the day before row `seen_to`, beside the levels that other episodes left, and what whitened
    the residuals; one that went away and came back is dated and explained by its first stretch."""
    days, first, turned = watched.days, group.alarms[0], _turn(group)
    end = seen_to if turned is None else max(turned, first.day + 1)
    white = search.whiteners(days, (*watched.work, *(b for b in _levels(days, group, groups) if b.day < end)))
    change = changes.fit_change(
        days, white, first.since, (first.day, min(group.alarms[-1].day, end - 1)), end
    )

    def explained(change: Change) -> Diagnosis:
        return watched.diagnosed(change, _standing(tuple(o for o in groups if o is not group), change))

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
        change = replace(change, onset_low=max(change.onset_low - changes.RAMPS[-1], first.since))
    returned = group.returned or change.shape == "intermittent"
    return Episode(alarms, change, diagnosis, group.ended, returned), white


def _still_there(
    watched: _Watched,
    white: tuple[Whitener, ...],
    change: Change,
    diagnosis: Diagnosis,
    turned: int,
    end: int,
) -> bool:
    """Whether a change that was found going or staying away from row `turned` on can still be there, seen before row
    `end`: by its size, or as its cause would show little under the loads since."""
    days = watched.days
    seen = remaining(days, white, change, turned, end, np.ones_like(days.residual))
    showing = watched.patterns.showing(change, diagnosis.explanations[0], len(days.index))
    left = remaining(days, white, change, turned, end, showing)
    return max(seen.share, left.share + left.error) > STILL_THERE


def _as_of_late(days: Days, white: tuple[Whitener, ...], change: Change) -> Change:
    """The change with the course over the last weeks that its residuals show there: what hangs on load can show more or
    less of it than in all the time since its onset."""
    rows = np.arange(len(days.index))
    since = max(len(rows) - RECENT, change.onset)
    now = remaining(days, white, change, since, len(rows), np.ones_like(days.residual))
    if now.error > STILL_THERE:
        return change
    return replace(change, course=np.where(rows < since, change.course, now.share))


def _quiet_since(there: NDArray[np.bool_]) -> int | None:
    """The row from which a change that came and went has not come again, if that is longer ago than AFTERMATH."""
    on = np.flatnonzero(there)
    last = int(on[-1]) + 1 if len(on) else len(there)
    return last if len(there) - last > AFTERMATH else None
