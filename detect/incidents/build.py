"""Episodes → incidents as the contract and the reports show them."""

from dataclasses import dataclass, fields, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from sevenppb.detect.balance import fit
from sevenppb.detect.balance.model import OPTIONAL, Conditions
from sevenppb.detect.causes import CAUSES
from sevenppb.detect.diagnosis import magnitude
from sevenppb.detect.diagnosis.change import Change
from sevenppb.detect.diagnosis.likelihood import SHOWN, Explanation
from sevenppb.detect.expected import Days
from sevenppb.detect.features import WATCHED
from sevenppb.detect.fleet import Cost
from sevenppb.detect.incidents import projection, supply, urgency
from sevenppb.detect.incidents.ends import RECENT
from sevenppb.detect.incidents.episode import Episode
from sevenppb.detect.incidents.evidence import alternatives_of, bases_of, evidence_of, natural, own_telling
from sevenppb.detect.incidents.incident import (
    Alternative,
    Consequence,
    Incident,
    Magnitude,
)
from sevenppb.detect.incidents.oxygen import lately, limit_reached
from sevenppb.detect.quality.readings import Stuck
from sevenppb.detect.roles import ROLES

Array = NDArray[np.float64]

HOURS_PER_YEAR = 8760.0
AT_REST = 90  # days for which a ramp must have grown no more, before that is told
STANDSTILL = 3  # days without a steady hour, from which on they are told


@dataclass(frozen=True)
class Setting:
    """What an incident needs to know of the vessel besides its days."""

    vessel: str
    limits: dict[str, float]
    cost: Cost | None


def from_episode(days: Days, episode: Episode, setting: Setting) -> Incident:
    """The incident of one episode; rank, id and state are given later, over all incidents."""
    best = episode.diagnosis.explanations[0]
    change = episode.change
    second = best.beside
    causes = ((best.cause, best.role), *(() if second is None else ((second.cause, second.role),)))
    end = len(days.index) if episode.ended is None else episode.ended
    recent = _recent(days, change, end)
    at = _usual(days, recent)
    bases = bases_of(days, episode, recent)
    own = own_telling(episode)
    evidence = evidence_of(days, episode, bases, own, recent)
    probability = 1.0 - episode.diagnosis.nothing

    now = projection.outlook(days, best, change, at, best.size, 0)
    then = projection.outlook(days, best, change, at, best.size, 90)
    levels = {days.features[base.column]: natural(days, base) for base in bases}
    limit = setting.limits["outlet_oxygen"]
    oxygen = lately(days, best, change, recent, levels, now.oxygen_factor, limit)
    worse = max(then.oxygen_factor / now.oxygen_factor, 1.0)
    cost = None if setting.cost is None else now.steam_lost * 3.6 * HOURS_PER_YEAR * setting.cost.steam
    flow = float(np.nanmedian(days.at.flow[recent]))
    read, without, excess, added = (
        (None, None, None, None)
        if oxygen is None
        else (oxygen.read, oxygen.without / limit, oxygen.excess, oxygen.added)
    )
    worst = None if read is None else read * worse / limit
    valve = supply.opening(days, recent, levels)
    severe = urgency.severity(worst, without, now.steam_lost / flow, best.role, valve)
    wide = None if best.role is not None or valve is None or urgency.nearly_open(*valve) == 0.0 else valve[0]
    reached = limit_reached(days, best, change, at, oxygen) if episode.ended is None else None
    return Incident(
        rank=0,
        id="",
        vessel=setting.vessel,
        cause=best.cause,
        role=best.role,
        confidence=best.probability,
        alternatives=alternatives_of(days, episode, bases, own),
        shape="intermittent" if episode.returned else change.shape,
        onset=days.index[change.onset],
        onset_interval=(days.index[change.onset_low], days.index[change.onset_high]),
        first_flagged=days.index[episode.alarms[0].day],
        ended=None if episode.ended is None else days.index[episode.ended],
        state="new" if episode.ended is None else "eased",
        magnitude=replace(_magnitude(days, episode, best, at), averaged=_averaged(change)),
        urgency=probability * severe * (1.0 if episode.ended is None else 0.3),
        probability=probability,
        severity=severe,
        limit_reached=reached,
        consequence=Consequence(excess, now.steam_lost * 3600.0, cost, added, wide),
        evidence=evidence,
        checks=_all_of(tuple(CAUSES[slug].checks_of(role) for slug, role in causes)),
        cautions=_all_of(tuple(CAUSES[slug].cautions for slug, _ in causes)),
        beside=None if second is None else (second.cause, second.role),
        projection=projection.projected(days, best, change, at, read, reached)
        if episode.ended is None
        else (),
        standstill=None if episode.ended is None else _standstill(days, episode.ended),
        grown=None if episode.returned else _grown(days, change),
    )


def _grown(days: Days, change: Change) -> pd.Timestamp | None:
    """The day from which a ramp has grown no more, where that is long ago for how uncertain its days are."""
    full = change.full
    if change.shape != "ramp" or full is None or full <= change.onset or change.end - full < AT_REST:
        return None
    return days.index[full]


def _recent(days: Days, change: Change, end: int) -> NDArray[np.intp]:
    """The last days that ran before row `end`, RECENT at most; of a younger change, those since its onset alone, and of
    one that comes and goes its days on."""
    ran = np.flatnonzero((days.hours > 0) & (np.arange(len(days.index)) < end))
    since = ran[ran >= change.onset]
    if change.shape == "intermittent":
        since = since[change.course[since] > SHOWN]
    return (since if len(since) else ran)[-RECENT:]


def _standstill(days: Days, end: int) -> tuple[pd.Timestamp, pd.Timestamp] | None:
    """First and last day of the stretch without a steady hour in which an end at row `end` lies, or which it follows;
    None where none is as long as STANDSTILL."""
    ran = np.flatnonzero(days.hours > 0)
    before, after = ran[ran < end], ran[ran >= end]
    first = int(before[-1]) + 1 if len(before) else 0
    last = int(after[0]) - 1 if len(after) else len(days.index) - 1
    return (days.index[first], days.index[last]) if last - first + 1 >= STANDSTILL else None


def from_stuck(stuck: Stuck, setting: Setting, flagged_after: pd.Timedelta, last: pd.Timestamp) -> Incident:
    """The incident of a reading that stood still although the vessel moved; it ended on the first day without it."""
    cause = CAUSES["sensor-stuck"]
    role = ROLES[stuck.role]
    severe = urgency.severity(None, None, 0.0, stuck.role, None)
    over = stuck.end < last - pd.Timedelta(days=1)
    day = stuck.start.floor("D")
    return Incident(
        rank=0,
        id="",
        vessel=setting.vessel,
        cause=cause.slug,
        role=stuck.role,
        confidence=0.95,
        alternatives=(Alternative("unexplained", None, 0.05),),
        shape="step",
        onset=day,
        onset_interval=(day, day),
        first_flagged=(stuck.start + flagged_after).floor("D"),
        ended=stuck.end.ceil("D") if over else None,
        state="eased" if over else "new",
        magnitude=Magnitude(f"{role.label} held at", stuck.value, stuck.value, stuck.value, role.unit),
        urgency=0.95 * severe * (0.3 if over else 1.0),
        probability=0.95,
        severity=severe,
        limit_reached=None,
        consequence=Consequence(None, 0.0, None),
        evidence=(),
        checks=cause.checks_of(stuck.role),
        cautions=cause.cautions,
    )


def ranked(incidents: list[Incident]) -> tuple[Incident, ...]:
    """Incidents by falling urgency, with rank and id. Ids number a vessel's incidents of a year in the order in
    which they were first flagged, so that a later scan over the same readings gives the same."""
    ids: dict[int, str] = {}
    count: dict[tuple[str, int], int] = {}
    for i in sorted(range(len(incidents)), key=lambda i: (incidents[i].first_flagged, incidents[i].cause)):
        key = (incidents[i].vessel, incidents[i].first_flagged.year)
        count[key] = count.get(key, 0) + 1
        ids[i] = f"{key[0]}/{key[1]}-{count[key]:03d}"
    order = sorted(range(len(incidents)), key=lambda i: (-incidents[i].urgency, ids[i]))
    return tuple(replace(incidents[i], rank=r + 1, id=ids[i]) for r, i in enumerate(order))


def _all_of(lists: tuple[tuple[str, ...], ...]) -> tuple[str, ...]:
    """One list after the other, each line once."""
    return tuple(dict.fromkeys(line for lines in lists for line in lines))


def _usual(days: Days, rows: NDArray[np.intp]) -> Conditions:
    """Conditions on those of these days on which all are known; where a reading was lost on all of them, on the last
    days before on which they were. What the balance does without may be unknown."""
    given = np.array([getattr(days.at, f.name) for f in fields(Conditions) if f.name not in OPTIONAL])
    known: NDArray[np.bool_] = np.isfinite(given).all(axis=0)
    here = rows[known[rows]]
    return fit.take(days.at, here if len(here) else np.flatnonzero(known[: rows[-1] + 1])[-RECENT:])


def _averaged(change: Change) -> bool:
    """Whether a change that comes and goes is told by one level for its days on and off."""
    return change.shape == "intermittent" and bool(change.course[change.onset : change.end].all())


def _magnitude(days: Days, episode: Episode, best: Explanation, at: Conditions) -> Magnitude:
    cause = CAUSES[best.cause]
    sizes = (best.size, best.low, best.high)
    if best.candidate is None:
        z = np.nan_to_num(episode.change.effect / episode.change.error)
        f = int(np.argmax(abs(z)))
        feature = WATCHED[days.features[f]]
        effect, error = episode.change.effect[f], 1.645 * episode.change.error[f]
        unit = "fraction" if feature.scale == "log" else "degC" if feature.unit == "K" else feature.unit
        return Magnitude(f"{feature.label} moved", effect, effect - error, effect + error, unit)
    value, *ends = (magnitude.in_unit(best.candidate, size, days.fitted.health) for size in sizes)
    what, unit = cause.what, cause.unit
    if cause.parameter is None:
        role = ROLES[best.role or ""]
        what, unit = f"{role.label} reads off by", "fraction" if best.candidate.logarithmic else role.unit
    return Magnitude(what, value, min(ends), max(ends), unit)
