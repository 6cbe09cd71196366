"""One incident as a section of finished text."""

import math
import shlex
from dataclasses import dataclass

import pandas as pd

from sevenppb.detect.causes import CAUSES
from sevenppb.detect.fleet import Cost, Vessel
from sevenppb.detect.incidents.incident import Incident, VesselScan
from sevenppb.reports import numbers, words
from sevenppb.reports.likely import is_told, likely
from sevenppb.reports.numbers import Units
from sevenppb.reports.views import consequence
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
)


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
        facts=_facts(vessel, incident, limits["outlet_oxygen"], cost, units, until),
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
    roles: dict[str, list[str]] = {}  # of the sensors that may be at fault in the same way
    for row in likely(incident):
        roles.setdefault(row.cause, []).extend(() if row.role is None else (words.feature(row.role),))
    each = (
        f"{' or of '.join((CAUSES[slug].label.capitalize(), *of)).replace(' or of ', ' of ', 1)}: "
        f"{CAUSES[slug].meaning}"
        for slug, of in roles.items()
    )
    return " ".join(("These readings do not tell which it is.", *each))


def _undrawn(vessel: str) -> str:
    return f"Drawings: scan this vessel by itself, with --vessel {shlex.quote(vessel)}."


def _facts(
    vessel: VesselScan,
    incident: Incident,
    limit: float,
    cost: Cost | None,
    units: Units,
    until: pd.Timestamp | None,
) -> tuple[tuple[str, str], ...]:
    """`limit`: outlet oxygen's [ppb]."""
    oxygen = consequence.over(vessel.daily, incident, limit)
    urgency = (
        f"{numbers.number(incident.urgency, 2)} = probability that it is real "
        f"{numbers.number(incident.probability, 2)} × severity {numbers.number(incident.severity, 2)}"
    )
    facts = [
        *_beside(incident),
        ("Size", words.magnitude(incident, units)),
        ("Onset", f"{words.day(incident.onset)}; 90 % interval: {words.days(*incident.onset_interval)}"),
        ("First flagged", f"{words.day(incident.first_flagged)}, by a watch that sees no later reading"),
        ("Limit", consequence.limit(incident, until, oxygen)),
        ("Consequence", consequence.told(vessel.daily, incident, oxygen, cost, units)),
        ("Urgency", urgency),
        ("State", incident.state + (f", {words.ended(incident)}" if incident.ended else "")),
    ]
    return tuple(facts)


def _beside(incident: Incident) -> tuple[tuple[str, str], ...]:
    if incident.beside is None:
        return ()
    both = words.cause(*incident.beside)
    return (("At the same time", f"{both}: neither explains all that moved without the other"),)
