"""Alarms → episodes: which alarms are one change, and what explains it."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from sevenppb.detect.diagnosis import likelihood, search
from sevenppb.detect.diagnosis.change import Change
from sevenppb.detect.diagnosis.likelihood import Diagnosis, Patterns
from sevenppb.detect.diagnosis.search import Alarm, Mended, Search
from sevenppb.detect.diagnosis.signatures import Cause
from sevenppb.detect.expected import Days
from sevenppb.detect.incidents.ends import AFTERMATH, put_right, told
from sevenppb.detect.incidents.episode import (
    Episode,
    Open,
    Watched,
    cause_of,
    plain,
    seen_before,
    standing_beside,
)
from sevenppb.detect.settings import Settings

Array = NDArray[np.float64]

GONE = 0.35  # share of an episode's known effect that one alarm finds gone back, above which it has ended
DOUBTFUL = 0.5  # probability of nothing, given what is known by then, from which an alarm is not told
DROPPED = (
    0.65  # the same, above which what was told is told no more: a list that flickers loses what still runs
)
SURE = 0.05  # probability of nothing, below which an alarm stands whatever later readings date the change to


def judge(days: Days, patterns: Patterns, settings: Settings) -> search.Judge:
    """Whether a change, knowing nothing later, is more likely something than nothing."""

    def credible(seen: Change, correlation: Array) -> bool:
        if not likelihood.worth_asking(days, seen):
            return False
        nothing = likelihood.nothing(days, seen, patterns, correlation, settings)
        return nothing <= DOUBTFUL

    return credible


def episodes(
    days: Days, found: Search, patterns: Patterns, work: tuple[Mended, ...], settings: Settings
) -> tuple[Episode, ...]:
    """Episodes in the order of their first alarms; an episode is told until, seen from the last day, it is more likely
    nothing than DROPPED."""
    watched = Watched(days, found, patterns, work, settings)
    groups: list[Open] = []
    for alarm in found.alarms:
        still = [k for k, g in enumerate(groups) if g.ended is None or alarm.day - g.ended < AFTERMATH]
        for k in still:
            groups[k] = put_right(watched, groups[k], groups, alarm.day)
            groups[k] = _known_by(watched, groups[k], groups, alarm.change.onset)
        known = tuple(groups[k].effect for k in still)
        at_work = frozenset(groups[k].cause for k in still if groups[k].ended is None)
        standing = standing_beside(tuple(groups[k] for k in still), alarm.change)
        seen = watched.diagnosed(alarm.change, standing, known, at_work)
        home = _home(groups, still, seen)
        if home is None:
            effect, cause = plain(alarm.change, seen), cause_of(seen)
            groups.append(Open((alarm,), frozenset(), effect, cause, alarm.change.onset))
            k = len(groups) - 1
        else:
            k, back = home
            groups[k] = _joined(groups[k], alarm, back)
        if seen.nothing < SURE:
            groups[k] = replace(groups[k], sure=groups[k].sure | {alarm.day})
    groups = [put_right(watched, g, groups, len(days.index)) for g in groups]
    told_now = [told(watched, g, groups) for g in groups]
    merged = _merged(groups, told_now)
    if len(merged) < len(groups):
        told_now = [told(watched, g, merged) for g in merged]
    return tuple(episode for episode in told_now if episode.diagnosis.nothing <= DROPPED)


def _merged(groups: list[Open], told_now: list[Episode]) -> list[Open]:
    """Groups that turn out to have one cause are one: early alarms of a slow change can look like something else."""
    out: dict[object, Open] = {}
    ends: dict[object, int | None] = {}  # of those in `out`, as told: what is still there has not ended
    for k, (opened, episode) in enumerate(zip(groups, told_now, strict=True)):
        cause = cause_of(episode.diagnosis)
        doubtful = cause[0] == "unexplained" or episode.diagnosis.nothing > DOUBTFUL
        key = k if doubtful else cause
        group = _dated_by(opened, cause)
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


def _home(groups: list[Open], still: list[int], told: Diagnosis) -> tuple[int, bool] | None:
    """The episode that an alarm belongs to, and whether it went back; None for something new. An alarm belongs to an
    open episode whose pattern it repeats or reverses, or to the latest one with the same cause, even if that had
    ended: then it has come back."""
    if told.again and sum(a.growing + a.going_back for a in told.again) > 0.5:
        shares = [(max(a.growing, a.going_back), k, a) for a, k in zip(told.again, still, strict=True)]
        _, k, again = max(shares, key=lambda share: share[:2])
        return k, again.going_back > again.growing
    cause = cause_of(told)
    same = [k for k, group in enumerate(groups) if group.cause == cause and cause[0] != "unexplained"]
    return (same[-1], False) if same else None


def _joined(group: Open, alarm: Alarm, back: bool) -> Open:
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


def _known_by(watched: Watched, group: Open, groups: list[Open], end: int) -> Open:
    """An open episode as it was known before row `end`, where the next alarm's change began: its own alarm came as soon
    as anything could be seen, and knew little of how large it is. What looks like nothing by then keeps the cause that
    it was taken for: months beside a few wrong days know no better."""
    if group.ended is not None or end - group.alarms[-1].day < search.SETTLED:
        return group
    seen, _ = seen_before(watched, group, groups, end)
    if seen.diagnosis.nothing > DOUBTFUL and cause_of(seen.diagnosis) != group.cause:
        return group
    cause = cause_of(seen.diagnosis)
    effect = plain(seen.change, seen.diagnosis)
    return replace(_dated_by(group, cause), effect=effect, cause=cause)


def _dated_by(group: Open, cause: Cause) -> Open:
    """The episode as it is dated where it turns out to have this cause: an alarm that was sure of another dates
    nothing."""
    return group if group.cause == cause else replace(group, sure=frozenset())
