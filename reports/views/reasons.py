"""What speaks against a cause, in words: the residual that contradicts it most."""

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

    def is_missing(self, units: Units) -> bool:
        """Whether of a move that would be clear and seen, clearly less than half was found."""
        clear = abs(self.predicted) >= words.CLEAR * self.error
        seen = numbers.is_shown(self.row.feature, self.predicted, self.row.expected, self.row.unit, units)
        return clear and seen and words.missing(self.predicted, self.found, self.error)

    def shows(self, units: Units) -> bool:
        """Whether found and predicted move differ by more than rounding of the reading may hide."""
        return words.apart(self.row, self.row.expected + self.predicted, self.row.observed, units)


def reasons(incident: Incident, units: Units) -> tuple[str, ...]:
    """Alternatives with their shares and what speaks against them, a sentence for those of which that is the same;
    before them the named cause, where a move that it would make was clearly not found."""
    same: dict[str, list[str]] = {}
    own = Alternative(
        incident.cause,
        incident.role,
        incident.confidence,
        tuple((row.feature, row.predicted) for row in incident.evidence if math.isfinite(row.predicted)),
    )
    missing = [row for row in _weighed(incident, own) if row.is_missing(units)]
    if missing:
        worst = max(missing, key=lambda row: abs(row.predicted) / row.error)
        who = f"{words.cause(own.cause, own.role)} ({numbers.percent(own.confidence)})"
        same[_said(worst, units)] = [who]
    for other in incident.alternatives:
        who = f"{words.cause(other.cause, other.role)} ({numbers.percent(other.confidence)})"
        same.setdefault(_reason(incident, other, units), []).append(who)
    return tuple(f"{', '.join(who)}: {reason}." for reason, who in same.items())


def _reason(incident: Incident, other: Alternative, units: Units) -> str:
    if other.cause == "unexplained":
        return "some other change would fit any pattern, so it counts only as far as no known cause fits this one"
    found = [
        against
        for against in _weighed(incident, other)
        if against.worse >= CONTRADICTS and against.shows(units)
    ]
    if not found:
        return (
            "contradicted by no single reading beyond error and rounding; the pattern as a whole fits less well"
            if other.moves
            else "nothing was predicted of it to compare with"
        )
    return _said(max(found, key=lambda against: against.worse), units)


def _said(worst: _Against, units: Units) -> str:
    name, unit = words.feature(worst.row.feature), worst.row.unit
    told, moved = (
        numbers.move(worst.row.feature, size, worst.row.expected, unit, units)
        for size in (worst.predicted, worst.found)
    )
    if abs(worst.predicted) < STILL * worst.error:
        return f"would leave {name} as it was, but that moved by {moved}"
    if abs(worst.found) < STILL * worst.error:
        return f"would have moved {name} by about {told}, but that hardly moved"
    return f"would have moved {name} by about {told}, but that moved by {moved}"


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
