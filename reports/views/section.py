"""One incident as a section of finished text."""

import math
import shlex
from dataclasses import dataclass

import pandas as pd

from sevenppb.detect.causes import CAUSES
from sevenppb.detect.fleet import Cost, Vessel
from sevenppb.detect.incidents.incident import Evidence, Incident, VesselScan
from sevenppb.reports import numbers, words
from sevenppb.reports.likely import is_told, likely
from sevenppb.reports.numbers import Units
from sevenppb.reports.views.checks import cautions, checks
from sevenppb.reports.views.limits import limits_of
from sevenppb.reports.views.projection import ProjectionChart, projection_chart
from sevenppb.reports.views.reasons import reasons
from sevenppb.reports.views.scatter import ScatterChart, scatter_chart
from sevenppb.reports.views.series import (
    EvidenceChart,
    SignatureChart,
    evidence_charts,
    signature_chart,
    within,
)

KG_H = 3600.0  # in a kg/s
SMALLEST_EXCESS = 0.05  # ppb; less would be shown as none


@dataclass(frozen=True)
class EvidenceRow:
    """One residual: text for each column of the evidence table."""

    feature: str
    expected: str
    observed: str
    difference: str
    z: str


@dataclass(frozen=True)
class Section:
    """One incident: all that the page says about it, in reading order. `facts` are (label, text) pairs; `undrawn` says
    how to see the drawings that were left out, None where none were."""

    anchor: str
    id: str
    heading: str
    sentence: str
    meaning: str
    facts: tuple[tuple[str, str], ...]
    undrawn: str | None
    charts: tuple[EvidenceChart, ...]
    scatter: ScatterChart | None
    signature: SignatureChart | None
    projection: ProjectionChart | None
    evidence: tuple[EvidenceRow, ...]
    alternatives: tuple[str, ...]
    checks: tuple[str, ...]
    cautions: tuple[str, ...]


def anchor(incident: Incident) -> str:
    """The section's place in the page; ranks are unique, ids may hold anything that a tag can."""
    return f"incident-{incident.rank}"


def section(
    vessel: VesselScan,
    incident: Incident,
    described: Vessel,
    cost: Cost | None,
    units: Units,
    until: pd.Timestamp | None,
    *,
    drawn: bool = True,
) -> Section:
    """All of one incident in words and rows and, where it is `drawn`, chart records; `described` is the vessel in the
    fleet file."""
    limits = limits_of(described)
    charts = evidence_charts(vessel, incident, limits, described.work, units) if drawn else ()
    return Section(
        anchor=anchor(incident),
        id=incident.id,
        heading=f"{incident.rank}. {incident.vessel}: {words.title(incident, units)}",
        sentence=words.sentence(incident, units, until),
        meaning=_meaning(incident),
        facts=_facts(
            incident, cost, units, until, _days_over(vessel.daily, incident, limits["outlet_oxygen"])
        ),
        undrawn=None if drawn else _undrawn(incident.vessel),
        charts=charts,
        scatter=scatter_chart(vessel, incident, charts[0].feature, units) if charts else None,
        signature=signature_chart(incident) if drawn else None,
        projection=projection_chart(vessel, incident, limits, units) if drawn else None,
        evidence=tuple(
            EvidenceRow(
                words.feature(row.feature),
                *words.pair(row, units),
                numbers.move(row.feature, row.observed - row.expected, row.expected, row.unit, units),
                numbers.errors(row.z),
            )
            for row in sorted(
                incident.evidence, key=lambda row: abs(row.z) if math.isfinite(row.z) else -1.0, reverse=True
            )
        ),
        alternatives=reasons(incident, units),
        checks=checks(incident),
        cautions=cautions(incident),
    )


def _meaning(incident: Incident) -> str:
    """What the cause means; where it is not told, what each likely one would."""
    if is_told(incident):
        return CAUSES[incident.cause].meaning
    each = (CAUSES[row.cause] for row in likely(incident))
    return " ".join(
        (
            "These readings do not tell which it is.",
            *(f"{row.label.capitalize()}: {row.meaning}" for row in each),
        )
    )


def _undrawn(vessel: str) -> str:
    return f"Drawings: scan this vessel by itself, with --vessel {shlex.quote(vessel)}."


def _facts(
    incident: Incident, cost: Cost | None, units: Units, until: pd.Timestamp | None, over: "pd.Series[bool]"
) -> tuple[tuple[str, str], ...]:
    urgency = (
        f"{numbers.number(incident.urgency, 2)} = probability that it is real "
        f"{numbers.number(incident.probability, 2)} × severity {numbers.number(incident.severity, 2)}"
    )
    facts = [
        *_beside(incident),
        ("Size", words.magnitude(incident, units)),
        ("Onset", f"{words.day(incident.onset)}; 90 % interval: {words.days(*incident.onset_interval)}"),
        ("First flagged", f"{words.day(incident.first_flagged)}, by a watch that sees no later reading"),
        ("Limit", _limit(incident, until, over)),
        ("Consequence", _consequence(incident, cost, units)),
        ("Urgency", urgency),
        ("State", incident.state + (f", {words.ended(incident)}" if incident.ended else "")),
    ]
    return tuple(facts)


def _beside(incident: Incident) -> tuple[tuple[str, str], ...]:
    if incident.beside is None:
        return ()
    both = words.cause(*incident.beside)
    return (("At the same time", f"{both}: neither explains all that moved without the other"),)


def _days_over(daily: pd.DataFrame, incident: Incident, limit: float) -> "pd.Series[bool]":
    """Whether outlet oxygen was over its `limit` [ppb], for those of the incident's days on which it was read."""
    if "observed_outlet_oxygen" not in daily:
        return pd.Series(dtype=bool)
    read = daily["observed_outlet_oxygen"][within(daily, incident)]
    return read.dropna() > limit


def _limit(incident: Incident, until: pd.Timestamp | None, over: "pd.Series[bool]") -> str:
    """When the limit is reached, or why no day is told; on some days oxygen may have been `over` it, which is told of a
    change that has to do with it."""
    told = words.to_limit(incident, until)
    if told is not None:
        return told
    if over.any() and _raises_oxygen(incident) is not False:
        days = f"{over.sum()} of {words.count(len(over), 'day')} since the onset"
        last = words.day(over.index[over][-1])
        if _excess(incident) is not None:
            return f"outlet oxygen was over it on {days}, last on {last}"
        when = "is on average lately" if incident.ended is None else "was on average in its last weeks"
        return f"outlet oxygen {when} not over it, though it was on {days}, last on {last}"
    why = _not_projected(incident)
    return "not in sight within a year" if why is None else f"not projected: {why}"


def _raises_oxygen(incident: Incident) -> bool | None:
    """Whether the change raises outlet oxygen, by its cause or, where none is known, as read; or the analyser hides
    some. None where no reading could tell."""
    row = _judged(incident, "outlet_oxygen")
    if row is None:
        return None
    found = row.observed - row.expected
    move = found if incident.cause == "unexplained" else row.predicted
    if incident.role == row.feature:  # what it shows too little is there
        move = -move
    return move >= words.CLEAR * abs(found / row.z)


def _judged(incident: Incident, feature: str) -> Evidence | None:
    """The evidence of a feature, where its move and that move's standard error can be told."""
    row = next((row for row in incident.evidence if row.feature == feature), None)
    return None if row is None or not math.isfinite(row.z) or row.z == 0.0 else row


def _not_projected(incident: Incident) -> str | None:
    """Why no day is told on which the limit is reached; None where it is looked for."""
    if incident.ended is not None:
        return "the incident has ended"
    if CAUSES[incident.cause].parameter is None:
        return "no health of the vessel is known to have moved"
    if incident.consequence.oxygen_excess_ppb is None:
        return "outlet oxygen is not recorded"
    if _raises_oxygen(incident) is False:
        return "this cause does not raise outlet oxygen"
    return None


def _excess(incident: Incident) -> float | None:
    """Outlet oxygen over its limit in the incident's last weeks [ppb]; None where it is not, or not known."""
    excess = incident.consequence.oxygen_excess_ppb
    return None if excess is None or not excess >= SMALLEST_EXCESS else excess


def _consequence(incident: Incident, cost: Cost | None, units: Units) -> str:
    """Oxygen over the limit, steam lost, money: only what there is, in the incident's last weeks."""
    if incident.cause == "sensor-stuck" and incident.role is not None:
        return f"what {words.feature(incident.role)} really was, is not known"
    found = incident.consequence
    parts = []
    excess = _excess(incident)
    if excess is not None:
        parts.append(f"outlet oxygen {numbers.number(excess, 1)} ppb over its limit{_added(incident)}")
    if math.isfinite(found.steam_lost_kg_h) and found.steam_lost_kg_h > 0:
        lost = f"{numbers.amount(found.steam_lost_kg_h, 'kg/h', units)} steam lost"
        ran = "" if incident.ended is None else " while it ran"
        parts.append(lost + ran + _unseen(incident))
        money = found.cost_per_year
        if money is not None and math.isfinite(money) and cost is not None:
            parts.append(f"{numbers.money(money)} {cost.currency} a year at that rate")
    if found.valve_open is not None:
        is_open = "is" if incident.ended is None else "was"
        wide = numbers.percent(found.valve_open)
        parts.append(f"the steam valve {is_open} {wide} open at high load, with little left of its travel")
    if parts:
        return ", ".join(parts)
    if found.oxygen_excess_ppb is None:
        return "no steam lost; outlet oxygen is not recorded"
    return "none in its last weeks: outlet oxygen on average not over its limit, no steam lost"


def _unseen(incident: Incident) -> str:
    """Said of a loss that follows from the cause, where the measured steam flow rose clearly less than half of it."""
    row = _judged(incident, "steam_flow")
    if row is None:
        return ""
    lost, found = incident.consequence.steam_lost_kg_h / KG_H, row.observed - row.expected
    clearly = lost / 2 - found >= words.CLEAR * abs(found / row.z)
    return " (by the cause; the measured steam flow does not show it)" if clearly else ""


def _added(incident: Incident) -> str:
    """What the change adds to oxygen that was over its limit already before; a wrong reading adds none."""
    added = incident.consequence.oxygen_added_ppb
    if added is None or incident.role is not None:
        return ""
    much = f"{numbers.number(added, 1)} ppb" if added >= SMALLEST_EXCESS else "nothing"
    return f" (the change adds {much})"
