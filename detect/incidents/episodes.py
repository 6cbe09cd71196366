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
        still = [k for k, g in enumerate(groups) if _open(g, alarm.day)]
        for k in still:
            groups[k] = put_right(watched, groups[k], groups, alarm.day)
            groups[k] = _known_by(watched, groups[k], groups, alarm.change.onset)
        seen = _beside(watched, alarm.change, [groups[k] for k in still])
        home = _home(groups, still, seen)
        if home is None:
            effect, cause = plain(alarm.change, seen), cause_of(seen)
            groups.append(Open((alarm,), frozenset(), effect, cause, alarm.change.onset))
            k = len(groups) - 1
        else:
            k, back = home
            groups[k] = _joined(groups[k], (alarm,), alarm.change, back=back)
        if seen.nothing < SURE:
            groups[k] = replace(groups[k], sure=groups[k].sure | {alarm.day})
    groups = _sent_home(watched, groups)
    groups = [put_right(watched, g, groups, len(days.index)) for g in groups]
    told_now = [told(watched, g, groups) for g in groups]
    merged = _merged(groups, told_now)
    if len(merged) < len(groups):
        told_now = [told(watched, g, merged) for g in merged]
    return tuple(episode for episode in told_now if episode.diagnosis.nothing <= DROPPED)


def _open(group: Open, day: int) -> bool:
    """Whether an alarm on a row can still tell of the episode."""
    return group.ended is None or day - group.ended < AFTERMATH


def _beside(watched: Watched, change: Change, known: list[Open]) -> Diagnosis:
    """What explains a change: something new, or an episode that is known and grows or goes back."""
    at_work = frozenset(group.cause for group in known if group.ended is None)
    return watched.diagnosed(
        change, standing_beside(tuple(known), change), tuple(group.effect for group in known), at_work
    )


def _sent_home(watched: Watched, groups: list[Open]) -> list[Open]:
    """Episodes that turn out to be another one's growing or going back belong to it: the day of an alarm knows little,
    and least of a fault that was put right on the day before."""
    out = list(groups)
    for group in groups[1:]:
        place = next(k for k, other in enumerate(out) if other is group)
        now = [_not_ended(watched, g, out) for g in out[:place]]
        still = [k for k, g in enumerate(now) if _open(g, group.alarms[0].day)]
        if not still:
            continue
        own, _ = seen_before(watched, group, out, len(watched.days.index))
        known = [_known_by(watched, now[k], out, own.change.onset) for k in still]
        again = _again(_beside(watched, own.change, known))
        if again is not None:
            out = [*out[:place], *out[place + 1 :]]
            out[still[again[0]]] = _joined(known[again[0]], group.alarms, own.change, back=again[1])
    return out


def _not_ended(watched: Watched, group: Open, groups: list[Open]) -> Open:
    """The episode without an end that, seen from the last day, was none."""
    if group.ended is None or told(watched, group, groups).ended is not None:
        return group
    return replace(group, turned=None, ended=None, first_end=None)


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
                afterwards=first.afterwards | group.afterwards,
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
    again = _again(told)
    if again is not None:
        return still[again[0]], again[1]
    cause = cause_of(told)
    same = [k for k, group in enumerate(groups) if group.cause == cause and cause[0] != "unexplained"]
    return (same[-1], False) if same else None


def _again(told: Diagnosis) -> tuple[int, bool] | None:
    """Which of the known episodes a change repeats or reverses, and whether it went back; None for something new."""
    if sum(a.growing + a.going_back for a in told.again) <= 0.5:
        return None
    k = max(range(len(told.again)), key=lambda k: (max(told.again[k].growing, told.again[k].going_back), k))
    return k, told.again[k].going_back > told.again[k].growing


def _joined(group: Open, more: tuple[Alarm, ...], seen: Change, *, back: bool) -> Open:
    """The episode with the alarms of one more change; effects add up, and what has largely gone back has ended."""
    alarms = (*group.alarms, *more)
    effect = group.effect + np.where(group.effect != 0.0, np.nan_to_num(seen.effect), 0.0)
    if not back:
        came_back = group.returned or group.ended is not None
        return replace(group, alarms=alarms, effect=effect, turned=None, ended=None, returned=came_back)
    turned = seen.onset if group.turned is None else group.turned
    weight = np.nan_to_num(1.0 / seen.error) * group.effect
    size = float(np.sum(weight**2))
    gone = -float(np.sum(weight * np.nan_to_num(seen.effect / seen.error))) / size if size > 0 else 0.0
    if group.ended is not None:
        return replace(group, turned=turned, afterwards=group.afterwards | {alarm.day for alarm in more})
    if gone <= GONE:
        return replace(group, alarms=alarms, turned=turned)
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
