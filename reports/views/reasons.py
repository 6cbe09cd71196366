"""Why another cause lost against the named one, in words: the residual that contradicts it most."""

import math
from dataclasses import dataclass

from sevenppb.detect.incidents.incident import Alternative, Evidence, Incident
from sevenppb.reports import numbers, words
from sevenppb.reports.numbers import Units

CONTRADICTS = (
    1.0  # standard errors by which a residual must lie further from the other cause than from the named one
)
STILL = 1.0  # standard errors below which a move is none


@dataclass(frozen=True)
class _Against:
    """One residual against one alternative: found and predicted move [unit], and their standard error."""

    row: Evidence
    found: float
    predicted: float
    error: float
    worse: float


def reasons(incident: Incident, units: Units) -> tuple[str, ...]:
    """A sentence for each alternative: its name, its share, and what speaks against it."""
    return tuple(
        f"{words.cause(other.cause, other.role)} ({numbers.percent(other.confidence)}): "
        f"{_reason(incident, other, units)}."
        for other in incident.alternatives
    )


def _reason(incident: Incident, other: Alternative, units: Units) -> str:
    if other.cause == "unexplained":
        return "some other change would fit any pattern, so it counts only as far as no known cause fits this one"
    found = [against for against in _weighed(incident, other) if against.worse >= CONTRADICTS]
    if not found:
        return (
            "no single reading contradicts it by more than its standard error; it fits the pattern as a whole less well"
            if other.moves
            else "nothing was predicted of it to compare with"
        )
    worst = max(found, key=lambda against: against.worse)
    name, unit = words.feature(worst.row.feature), worst.row.unit
    told, moved = (
        numbers.move(worst.row.feature, size, worst.row.expected, unit, units)
        for size in (worst.predicted, worst.found)
    )
    if abs(worst.predicted) < STILL * worst.error:
        return f"it would leave {name} as it was, but that moved by {moved}"
    if abs(worst.found) < STILL * worst.error:
        return f"it would have moved {name} by about {told}, but that hardly moved"
    return f"it would have moved {name} by about {told}, but that moved by {moved}"


def _weighed(incident: Incident, other: Alternative) -> list[_Against]:
    """Residuals whose move and its error are known; what the named cause leaves unpredicted does not move by it."""
    moves = dict(other.moves)
    rows = []
    for row in incident.evidence:
        found = row.observed - row.expected
        if row.feature not in moves or not math.isfinite(row.z) or row.z == 0.0 or not math.isfinite(found):
            continue
        error = abs(found / row.z)
        if error == 0.0:
            continue
        named = row.predicted if math.isfinite(row.predicted) else 0.0
        told = moves[row.feature]
        worse = (abs(found - told) - abs(found - named)) / error
        rows.append(_Against(row, found, told, error, worse))
    return rows
