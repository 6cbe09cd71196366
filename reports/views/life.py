"""What earlier scans and people said of an incident, as the register tells it."""

import math

import pandas as pd

from sevenppb.detect.causes import CAUSES
from sevenppb.detect.incidents.incident import Incident
from sevenppb.detect.register.finding import Finding, finding
from sevenppb.detect.register.history import Life, Seen
from sevenppb.reports import numbers, words
from sevenppb.reports.numbers import Units
from sevenppb.reports.views.mended import outcome

MOST_SIZES = 4
Cause = tuple[str, str | None]


def facts(
    life: Life, incident: Incident, daily: pd.DataFrame, units: Units, timezone: str
) -> tuple[tuple[str, str], ...]:
    """The first listing, what earlier scans said, people's words, and the work that could have mended it, with what the
    vessel's `daily` readings say of that."""
    first = life.seen[0]
    told = [
        (
            "First listed",
            f"by the scan of {day(first.recorded, timezone)}{_to(first, timezone, ', which read to')}",
        )
    ]
    if causes := _earlier_causes(life, incident):
        parts = [
            f"{words.cause(*cause)}{_to(seen, timezone, ' by readings to')}" for cause, seen in causes.items()
        ]
        told.append(("Told before as", "; ".join(parts)))
    if sizes := _earlier_sizes(life, incident, units, timezone):
        told.append(("Earlier sizes", ", ".join(sizes[-MOST_SIZES:])))
    for act in life.acts:
        said = "by " + act.author if act.event == "closed" else f"{act.author}: {act.text}"
        told.append(("Closed" if act.event == "closed" else "Note", f"{day(act.at, timezone)}, {said}"))
    told += [
        ("Work since", f"{day(work.date, timezone)}: {work.what}{outcome(work, incident, daily)}")
        for work in life.work
    ]
    return tuple(told)


def size_before(life: Life, incident: Incident, units: Units, timezone: str) -> str:
    """The size at the last scan before this one that measured the same thing; nothing where it was as now."""
    sizes = _earlier_sizes(life, incident, units, timezone)
    return f"; before that {sizes[-1]}" if sizes else ""


def cause_before(life: Life, incident: Incident) -> tuple[Cause, ...]:
    """The cause that the scan before this one named, if it was another."""
    told = [
        (seen.found.cause, seen.found.role) for seen in _earlier(life, incident) if seen.found is not None
    ]
    return tuple(cause for cause in told[-1:] if cause != (incident.cause, incident.role))


def day(moment: pd.Timestamp, timezone: str) -> str:
    """A moment's day in the fleet's timezone."""
    return words.day(moment.tz_convert(timezone))


def _earlier(life: Life, incident: Incident) -> tuple[Seen, ...]:
    """The sightings before the one that this report tells of, which may itself be one of earlier readings."""
    here = finding(incident)
    places = [n for n, seen in enumerate(life.seen) if seen.found == here]
    return life.seen[: places[-1]] if places else life.seen


def _earlier_causes(life: Life, incident: Incident) -> dict[Cause, Seen]:
    """Causes that earlier scans named and this one does not, each with the last scan that did."""
    last: dict[Cause, Seen] = {}
    for seen in _earlier(life, incident):
        if seen.found is not None and (seen.found.cause, seen.found.role) != (incident.cause, incident.role):
            last[seen.found.cause, seen.found.role] = seen
    return last


def _earlier_sizes(life: Life, incident: Incident, units: Units, timezone: str) -> list[str]:
    """What earlier scans measured of the same thing, the last word on the same readings; nothing where it always was
    as now."""
    now = finding(incident)
    if now.cause == "sensor-stuck":  # its value is no size
        return []
    sizes: dict[str, str] = {}
    for seen in _earlier(life, incident):
        if seen.found is not None and (seen.found.what, seen.found.unit) == (now.what, now.unit):
            sizes[_to(seen, timezone, " by readings to")] = _size(seen.found, units)
    if all(size == _size(now, units) for size in sizes.values()):
        return []
    return [size + when for when, size in sizes.items()]


def _size(found: Finding, units: Units) -> str:
    """Without its interval, but no more precise than that."""
    value, low, high = (math.nan if end is None else end for end in (found.value, found.low, found.high))
    signed = CAUSES[found.cause].parameter is None
    return numbers.estimate(value, low, high, found.unit, units, signed=signed)[0]


def _to(seen: Seen, timezone: str, before: str) -> str:
    return "" if seen.until is None else f"{before} {day(seen.until, timezone)}"
