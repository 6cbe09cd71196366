"""What the register remembers of an incident at one scan, as a record and as JSON text."""

import json
import math
from dataclasses import asdict, dataclass
from typing import Any

import pandas as pd

from sevenppb.detect.incidents.incident import Incident

_DIGITS = 6  # more than any reading supports, few enough that a repeated scan gives the same text
_TIMES = ("onset", "onset_low", "onset_high", "first_flagged", "ended", "limit_at")
_WRITTEN = "%Y-%m-%dT%H:%M:%SZ"


@dataclass(frozen=True)
class Finding:
    """One incident as one scan found it. Times are UTC; `value`, `low` and `high` are the magnitude `what` in
    `unit` with its 90 % interval. A number that the scan could not give is None."""

    cause: str
    role: str | None
    confidence: float | None
    shape: str
    onset: pd.Timestamp
    onset_low: pd.Timestamp
    onset_high: pd.Timestamp
    first_flagged: pd.Timestamp
    ended: pd.Timestamp | None
    what: str
    value: float | None
    low: float | None
    high: float | None
    unit: str
    urgency: float | None
    limit_at: pd.Timestamp | None
    oxygen_excess_ppb: float | None
    steam_lost_kg_h: float | None


def finding(incident: Incident) -> Finding:
    """What is remembered of an incident: all but its id, state, rank and evidence."""
    low, high = incident.onset_interval
    reached = incident.limit_reached
    return Finding(
        cause=incident.cause,
        role=incident.role,
        confidence=_number(incident.confidence),
        shape=incident.shape,
        onset=_second(incident.onset),
        onset_low=_second(low),
        onset_high=_second(high),
        first_flagged=_second(incident.first_flagged),
        ended=None if incident.ended is None else _second(incident.ended),
        what=incident.magnitude.what,
        value=_number(incident.magnitude.value),
        low=_number(incident.magnitude.low),
        high=_number(incident.magnitude.high),
        unit=incident.magnitude.unit,
        urgency=_number(incident.urgency),
        limit_at=None if reached is None else _second(reached.at),
        oxygen_excess_ppb=_number(incident.consequence.oxygen_excess_ppb),
        steam_lost_kg_h=_number(incident.consequence.steam_lost_kg_h),
    )


def to_text(found: Finding) -> str:
    """As one JSON object; the same finding always gives the same text."""
    values = asdict(found)
    for name in _TIMES:
        values[name] = None if values[name] is None else moment_text(values[name])
    return json.dumps(values, ensure_ascii=False, allow_nan=False)


def from_text(text: str) -> Finding:
    """The reverse of to_text."""
    values: dict[str, Any] = json.loads(text)
    for name in _TIMES:
        values[name] = None if values[name] is None else moment(values[name])
    return Finding(**values)


def moment_text(when: pd.Timestamp) -> str:
    """ "2025-09-14T00:00:00Z": to the second, so that texts sort as times do."""
    return when.tz_convert("UTC").strftime(_WRITTEN)


def moment(text: str) -> pd.Timestamp:
    """The reverse of moment_text."""
    return pd.Timestamp(text)


def _second(when: pd.Timestamp) -> pd.Timestamp:
    return when.tz_convert("UTC").floor("s")


def _number(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else float(f"{value:.{_DIGITS}g}")
