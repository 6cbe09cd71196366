"""proof.json: FleetProof → a document for other programs."""

import json
from typing import Any

from sevenppb.detect.proof.records import CauseProof, FleetProof, VesselProof

SCHEMA_NUMBER = 1
_DIGITS = 4


def encoded(proof: FleetProof) -> bytes:
    """UTF-8 JSON: sizes in each cause's `unit`, days from onset; null where there is none."""
    found = {
        "schema": SCHEMA_NUMBER,
        "fleet": proof.fleet,
        "tool": proof.tool,
        "seed": proof.seed,
        "watched_days": proof.watched,
        "growth_days": proof.growth,
        "within_days": proof.within,
        "faults_by": "the balance model's signatures",
        "vessels": [_vessel(vessel) for vessel in proof.vessels],
    }
    return (json.dumps(found, ensure_ascii=False, indent=1, allow_nan=False) + "\n").encode("utf-8")


def _vessel(vessel: VesselProof) -> dict[str, Any]:
    found: dict[str, Any] = {"id": vessel.id, "state": vessel.state}
    if vessel.error is not None:
        found["error"] = vessel.error
    if vessel.baseline is not None:
        found["baseline"] = [end.strftime("%Y-%m-%dT%H:%M:%SZ") for end in vessel.baseline]
    return found | {
        "untouched": {
            "copies": vessel.untouched,
            "vessel_years": _number(vessel.years),
            "false_incidents": vessel.false,
        },
        "causes": [_cause(row) for row in vessel.causes],
        "not_visible": list(vessel.unseen),
    }


def _cause(row: CauseProof) -> dict[str, Any]:
    return {
        "cause": row.cause,
        "what": row.what,
        "unit": row.unit,
        "found": row.found,
        "trials": [
            {
                "role": trial.role,
                "size": _number(trial.size),
                "found": trial.found,
                "named": trial.named,
                "days": _number(trial.days),
            }
            for trial in row.trials
        ],
        "smallest": {
            "value": _number(row.smallest.value),
            "low": _number(row.smallest.low),
            "high": _number(row.smallest.high),
        },
        "median_days": _number(row.days),
    }


def _number(value: float | None) -> float | None:
    return None if value is None else float(f"{value:.{_DIGITS}g}")
