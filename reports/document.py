"""incidents.json: FleetScan → the contract's document, checked against its schema before anybody sees it."""

import json
import math
from collections.abc import Callable, Iterator
from importlib.resources import files
from typing import Any, BinaryIO

import jsonschema
import pandas as pd

from sevenppb.detect.incidents.incident import FleetScan, Incident, VesselScan

SCHEMA_NUMBER = 1
_DIGITS = 6


def schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) that ships with the package."""
    text = files("sevenppb.reports").joinpath("incidents.schema.json").read_text(encoding="utf-8")
    loaded: dict[str, Any] = json.loads(text)
    return loaded


def write(scan: FleetScan, stream: BinaryIO) -> None:
    """The contract's fields in the contract's order as UTF-8 JSON, NaN as null, a vessel or an incident at a time.
    Raises jsonschema.ValidationError where the scan breaks the contract."""
    for piece in _pieces(scan):
        stream.write(piece.encode("utf-8"))


def _pieces(scan: FleetScan) -> Iterator[str]:
    head = {
        "schema": SCHEMA_NUMBER,
        "fleet": scan.fleet,
        "from": _moment(scan.start),
        "until": _moment(scan.until),
        "tool": scan.tool,
    }
    contract = jsonschema.Draft202012Validator(schema())
    contract.validate({**head, **{name: [] for name in _ROWS}})
    yield _text(head).removesuffix("\n}")
    for name, made in _ROWS.items():
        one = contract.evolve(schema=contract.schema["properties"][name]["items"])
        yield f',\n "{name}": ['
        between = "\n  "
        for row in getattr(scan, name):
            found = made(row)
            one.validate(found)
            yield between + _text(found).replace("\n", "\n  ")
            between = ",\n  "
        yield "\n ]" if getattr(scan, name) else "]"
    yield "\n}\n"


def _text(found: dict[str, Any]) -> str:
    return json.dumps(found, ensure_ascii=False, indent=1, allow_nan=False)


def _vessel(vessel: VesselScan) -> dict[str, Any]:
    found: dict[str, Any] = {
        "id": vessel.id,
        "readings": vessel.readings,
        "usable": _number(vessel.usable),
        "hours_running": _number(vessel.hours_running),
        "state": vessel.state,
    }
    if vessel.error is not None:
        found["error"] = vessel.error
    found["coverage"] = [
        {
            "cause": row.cause,
            "visible": row.visible,
            "smallest": _number(row.smallest),
            "confusable_with": list(row.confusable_with),
            "missing_roles": list(row.missing_roles),
        }
        for row in vessel.coverage
    ]
    found["notes"] = list(vessel.notes)
    return found


def _incident(row: Incident) -> dict[str, Any]:
    limit = row.limit_reached
    return {
        "rank": row.rank,
        "id": row.id,
        "vessel": row.vessel,
        "cause": row.cause,
        "role": row.role,
        "confidence": _number(row.confidence),
        "alternatives": [
            _alternative(other.cause, other.role, other.confidence) for other in row.at_work_or_likely
        ],
        "shape": row.shape,
        "onset": _moment(row.onset),
        "onset_interval": [_moment(end) for end in row.onset_interval],
        "first_flagged": _moment(row.first_flagged),
        "ended": _moment(row.ended),
        "state": row.state,
        "magnitude": {
            "what": row.magnitude.what,
            "value": _number(row.magnitude.value),
            "low": _number(row.magnitude.low),
            "high": _number(row.magnitude.high),
            "unit": row.magnitude.unit,
        },
        "urgency": _number(row.urgency),
        "limit_reached": None
        if limit is None
        else {
            "what": limit.what,
            "at": _moment(limit.at),
            "low": _moment(limit.low),
            "high": _moment(limit.high),
        },
        "consequence": {
            "oxygen_excess_ppb": _number(row.consequence.oxygen_excess_ppb),
            "steam_lost_kg_h": _number(row.consequence.steam_lost_kg_h),
            "cost_per_year": _number(row.consequence.cost_per_year),
        },
        "evidence": [
            {
                "feature": part.feature,
                "unit": part.unit,
                "expected": _number(part.expected),
                "observed": _number(part.observed),
                "z": _number(part.z),
            }
            for part in row.evidence
        ],
        "checks": list(row.checks),
        "cautions": list(row.cautions),
    }


def _alternative(cause: str, role: str | None, confidence: float) -> dict[str, Any]:
    found: dict[str, Any] = {"cause": cause, "confidence": _number(confidence)}
    if role is not None:
        found["role"] = role
    return found


def _number(value: float | None) -> float | None:
    """Six significant digits: more than any reading supports, few enough that two machines agree."""
    if value is None or not math.isfinite(value):
        return None
    return float(f"{value:.{_DIGITS}g}")


def _moment(moment: pd.Timestamp | None) -> str | None:
    return None if moment is None else moment.tz_convert("UTC").strftime("%Y-%m-%dT%H:%M:%SZ")


_ROWS: dict[str, Callable[[Any], dict[str, Any]]] = {"vessels": _vessel, "incidents": _incident}
