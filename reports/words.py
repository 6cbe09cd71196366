"""Sentences from incidents: what a reader needs to hear, once, in plain words."""

import math
import re
from collections.abc import Mapping

import pandas as pd

from sevenppb.detect.causes import CAUSES
from sevenppb.detect.features import SWING, WATCHED
from sevenppb.detect.incidents.incident import Evidence, Incident, LimitReached
from sevenppb.detect.roles import ROLES
from sevenppb.reports import numbers
from sevenppb.reports.likely import is_told, likely
from sevenppb.reports.numbers import Units

SHAPES = {
    "ramp": "growing since",
    "step": "in one step on",
    "intermittent": "coming and going since",
}

CLEAR = 2.0  # standard errors from which a reading moved clearly
UNTOLD = "cause not told"
APART = 2  # of the last digit shown, from which two readings are not as good as the same

# "level" is a plain word besides, and stays
_ROLE_SLUGS = re.compile(rf"\b(?:{'|'.join(role for role in ROLES if '_' in role)})\b")
_ISO_DAY = re.compile(r"(?<![\w./-])\d{4}-\d\d-\d\d(?![\w./-])")  # that is no part of a file's name


def feature(name: str) -> str:
    """A role's label, or a derived feature's name as words."""
    row = WATCHED.get(name) or ROLES.get(name)
    return row.label if row else name.replace("_", " ")


def plain(note: str) -> str:
    """A note with every role that it names by its slug in words, and days as reports write them."""
    named = _ROLE_SLUGS.sub(lambda found: feature(found[0]), note)
    return _ISO_DAY.sub(_told_day, named)


def _told_day(found: re.Match[str]) -> str:
    try:
        return day(pd.Timestamp(found[0]))
    except ValueError:  # no such day
        return found[0]


def cause(slug: str, role: str | None) -> str:
    """The cause in words; a sensor's cause says which sensor."""
    label = CAUSES[slug].label
    return f"{label} of {feature(role)}" if role else label


def look_alike(name: str) -> str:
    """A coverage's look-alike in words: a cause, or "sensor-drift (vent_flow)"."""
    slug, _, role = name.partition(" (")
    return cause(slug, role.removesuffix(")") or None)


def day(moment: pd.Timestamp | None) -> str:
    """ "3 Sep 2025"; a dash for none."""
    return numbers.NONE if moment is None else f"{moment.day} {moment.strftime('%b %Y')}"


def days(first: pd.Timestamp, last: pd.Timestamp) -> str:
    """ "29 Aug to 9 Sep 2025": what both ends share stands once."""
    if first.date() == last.date():
        return day(last)
    if (first.year, first.month) == (last.year, last.month):
        return f"{first.day} to {day(last)}"
    if first.year == last.year:
        return f"{first.day} {first.strftime('%b')} to {day(last)}"
    return f"{day(first)} to {day(last)}"


def named(incident: Incident, *, shares: bool = False) -> str:
    """The cause in words; where it is not told, that it isn't and the likeliest few, with their `shares` if asked."""
    if is_told(incident):
        return cause(incident.cause, incident.role)
    few = [_candidate(row.cause, row.role) for row in likely(incident)]
    if incident.beside is not None:  # the likeliest is a pair
        few[0] += f" together with {cause(*incident.beside)}"
    if shares:
        parts = (numbers.percent(row.confidence) for row in likely(incident))
        few = [f"{name} ({share})" for name, share in zip(few, parts, strict=True)]
    return f"{UNTOLD}: {', '.join(few[:-1])} or {few[-1]}"


def _candidate(slug: str, role: str | None) -> str:
    return "no known cause" if slug == "unexplained" else cause(slug, role)


def title(incident: Incident, units: Units) -> str:
    """What an incident is called: its cause; where that is not told, what is seen."""
    if is_told(incident):
        return named(incident)
    shown = shown_best(incident, units)
    if shown is None:
        return f"a change, {named(incident)}"
    way = "higher" if shown.observed > shown.expected else "lower"
    return f"{feature(shown.feature)} {way} than expected, {named(incident)}"


def magnitude(incident: Incident, units: Units) -> str:
    """ "vent area lost 62 % (50 to 74 %)"; without an interval where none could be found, and with the cause that it is
    of where that is not told."""
    over = " on average over days on and off" if incident.magnitude.averaged else ""
    known = is_told(incident) or incident.cause == "unexplained"
    of = "" if known else f", if it is {cause(incident.cause, incident.role)}"
    return f"{incident.magnitude.what} {size(incident, units)}{over}{of}"


def size(incident: Incident, units: Units) -> str:
    """ "62 % (50 to 74 %)": the magnitude without what it is of. A stuck sensor's is its reading."""
    found = incident.magnitude
    if incident.cause == "sensor-stuck" and incident.role is not None:
        return numbers.reading(incident.role, found.value, found.unit, units)
    is_move = CAUSES[incident.cause].parameter is None
    value, ends = numbers.estimate(found.value, found.low, found.high, found.unit, units, signed=is_move)
    return value + ("" if ends == numbers.NONE else f" ({ends})")


def shown_best(incident: Incident, units: Units) -> Evidence | None:
    """The residual that moved most, in standard errors, of those that moved clearly and by more than rounding may hide;
    a level before its own rise with load. Where there is none, the one that moved most."""
    known = sorted((row for row in incident.evidence if math.isfinite(row.z)), key=lambda row: -abs(row.z))
    telling = {
        row.feature: row
        for row in known
        if abs(row.z) >= CLEAR and apart(row, row.expected, row.observed, units)
    }
    if not telling:
        return known[0] if known else None
    name, most = next(iter(telling.items()))
    return telling.get(name.removesuffix(SWING), most)


def missing(predicted: float, found: float, error: float) -> bool:
    """Whether of a predicted move clearly less than half was found, all three in one unit."""
    return math.copysign(1.0, predicted) * (predicted / 2 - found) >= CLEAR * error


def apart(row: Evidence, one: float, other: float, units: Units) -> bool:
    """Whether two values of a reading [its unit] differ by more than rounding may hide, as shown."""
    return numbers.digits_apart(row.feature, one, other, row.unit, units) >= APART


def pair(row: Evidence, units: Units) -> tuple[str, str]:
    """A reading as expected and as observed; where it moved clearly and rounding may hide that, by a digit more."""
    finer = int(abs(row.z) >= CLEAR and not apart(row, row.expected, row.observed, units))
    return (
        numbers.expected(row.feature, row.expected, row.unit, units, finer=finer),
        numbers.reading(row.feature, row.observed, row.unit, units, finer=finer),
    )


def compared(row: Evidence, incident: Incident, units: Units) -> str:
    """ "vent line temperature is 97.9 °C where 104.2 °C is expected"; "was" where the incident is over."""
    verb = "is" if incident.ended is None else "was"
    expected, observed = pair(row, units)
    return f"{feature(row.feature)} {verb} {observed} where {expected} {verb} expected"


def limit(found: LimitReached, until: pd.Timestamp | None) -> str:
    """When the limit is reached: past or projected, with the interval of a projection."""
    what = feature(found.what)
    if until is not None and found.at <= until:
        return f"{what} passed its limit on {day(found.at)}"
    between = ""
    if found.low is not None:
        late = f"{day(found.low)} to beyond a year" if found.high is None else days(found.low, found.high)
        between = f" ({late})"
    return f"at this pace {what} reaches its limit about {day(found.at)}{between}"


def to_limit(incident: Incident, until: pd.Timestamp | None) -> str | None:
    """What the incident has to do with its limit; None where that can't be told in a word."""
    if incident.limit_reached is not None:
        return limit(incident.limit_reached, until)
    if incident.ended is None and incident.consequence.oxygen_added_ppb is not None:
        return f"{feature('outlet_oxygen')} was over its limit already before"
    return None


def ended(incident: Incident) -> str:
    """ "ended 12 May 2025", or the standstill during which it did; of one that is over."""
    if incident.standstill is None:
        return f"ended {day(incident.ended)}"
    return f"ended during the standstill ({days(*incident.standstill)})"


def since(incident: Incident) -> str:
    """ "growing since 3 Sep 2025", or what else its course was; of a ramp that came to rest long ago, until when."""
    if incident.grown is not None:
        return f"grown from {day(incident.onset)} to about {day(incident.grown)}"
    shape = "since" if incident.cause == "sensor-stuck" else SHAPES[incident.shape]
    return f"{shape} {day(incident.onset)}"


def sentence(incident: Incident, units: Units, until: pd.Timestamp | None) -> str:
    """The incident in one sentence: where, what and how sure, how much, since when, what shows it, limit. Where the
    cause is not told, what is seen comes first, and a size is of no use."""
    when = since(incident)
    shown = shown_best(incident, units)
    seen = None if shown is None else compared(shown, incident, units)
    if is_told(incident):
        parts = [f"{magnitude(incident, units)}, {when}", *([seen] if seen else [])]
    else:
        parts = [f"{seen or 'a change'}, {when}", named(incident, shares=True)]
    reaches = to_limit(incident, until)
    if reaches is not None:
        parts.append(reaches)
    if incident.ended is not None:
        parts.append(ended(incident))
    if not is_told(incident):
        return f"{incident.vessel}: {'; '.join(parts)}."
    who = f"{incident.vessel}: {cause(incident.cause, incident.role)}"
    if incident.beside is not None:
        who += f" together with {cause(*incident.beside)}"
    return f"{who} (confidence {numbers.percent(incident.confidence)}), {'; '.join(parts)}."


def lead(incidents: tuple[Incident, ...], vessels: int, failed: int, units: Mapping[str, Units]) -> str:
    """The first sentence of a report: how many vessels, how many incidents, and the first to look at; `units` are by
    vessel."""
    if not vessels:
        return f"No vessel could be scanned, of {failed}."
    scanned = f"{count(vessels, 'vessel')} scanned" + (f", {failed} could not be" if failed else "")
    if not incidents:
        return f"{scanned}; no change stands out from chance, load and season."
    left = [row for row in incidents if row.state != "closed"]
    running = [row for row in left if row.ended is None]
    closed = f", {len(incidents) - len(left)} closed" if len(left) < len(incidents) else ""
    found = f"{scanned}; {count(len(incidents), 'incident')} found, {len(running)} still running{closed}."
    if not left:
        return found
    first = (running or left)[0]
    return f"{found} First to look at: {first.vessel}, {title(first, units[first.vessel])}."


def count(n: int, noun: str) -> str:
    """ "1 vessel", "2 vessels"."""
    return f"{n} {noun}" if n == 1 else f"{n} {noun}s"


def listed(items: tuple[str, ...]) -> str:
    """Items with commas; a dash for none."""
    return ", ".join(items) if items else numbers.NONE
