"""Whether and when an episode has ended, and how much of it shows lately."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from sevenppb.detect.diagnosis import search
from sevenppb.detect.diagnosis.change import Change
from sevenppb.detect.diagnosis.likelihood import Diagnosis
from sevenppb.detect.diagnosis.remaining import remaining, showing_days
from sevenppb.detect.drift.innovations import Whitener
from sevenppb.detect.expected import Days
from sevenppb.detect.incidents.episode import Episode, Open, Watched, levels, seen_before, turn

Array = NDArray[np.float64]

RECENT = 28  # days at an episode's end over which evidence and consequence are averaged
AFTERMATH = 60  # days after its end on which an alarm can still be an episode's going back
STILL_THERE = 0.5  # share of an episode's effects, above which it has not ended whatever went back of them


def put_right(watched: Watched, group: Open, groups: list[Open], end: int) -> Open:
    """An open episode as ended by the first work after which, seen before row `end`, it was there no more: no alarm
    says so, since the levels are new from that day on."""
    for mended in watched.work:
        if group.ended is not None or not group.alarms[0].day < mended.done < end:
            continue
        seen, _ = seen_before(watched, group, groups, mended.done)
        white = white_since(watched, group, groups, mended.done)
        if not still_there(watched, white, seen.change, seen.diagnosis, mended.done, end):
            first = mended.done if group.first_end is None else group.first_end
            group = replace(group, turned=mended.done, ended=mended.done, first_end=first)
    return group


def told(watched: Watched, group: Open, groups: list[Open]) -> Episode:
    """The episode seen from the last day, its end asked again of all days since."""
    days, turned = watched.days, turn(group)
    seen, white = seen_before(watched, group, groups, len(days.index))
    if turned is not None:  # the days since count too, with the levels that others left in them
        white = white_since(watched, group, groups, turned)
    change, ended = seen.change, seen.ended
    away = ended if turned is None else turned
    if seen.returned:
        ended = quiet_since(showing_days(days, white, change))
    elif away is not None and still_there(watched, white, change, seen.diagnosis, away, len(days.index)):
        ended = None
    return replace(seen, change=as_of_late(days, white, change) if ended is None else change, ended=ended)


def white_since(watched: Watched, group: Open, groups: list[Open], turned: int) -> tuple[Whitener, ...]:
    """What whitens the residuals where the days from row `turned` on are held against those before, so that work of
    about that day has given nothing a new level."""
    work = (mended for mended in watched.work if abs(mended.done - turned) > search.SETTLED)
    return search.whiteners(watched.days, (*work, *levels(watched.days, group, groups)))


def still_there(
    watched: Watched,
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


def as_of_late(days: Days, white: tuple[Whitener, ...], change: Change) -> Change:
    """The change with the course over the last weeks that its residuals show there: what hangs on load can show more or
    less of it than in all the time since its onset."""
    rows = np.arange(len(days.index))
    since = max(len(rows) - RECENT, change.onset)
    now = remaining(days, white, change, since, len(rows), np.ones_like(days.residual))
    if now.error > STILL_THERE:
        return change
    return replace(change, course=np.where(rows < since, change.course, now.share))


def quiet_since(there: NDArray[np.bool_]) -> int | None:
    """The row from which a change that came and went has not come again, if that is longer ago than AFTERMATH."""
    on = np.flatnonzero(there)
    last = int(on[-1]) + 1 if len(on) else len(there)
    return last if len(there) - last > AFTERMATH else None
