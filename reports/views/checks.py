"""What to check of an incident, and with which cautions: of one cause, or of the few that are likely."""

from sevenppb.detect.causes import CAUSES
from sevenppb.detect.incidents.incident import Alternative, Incident
from sevenppb.reports import words
from sevenppb.reports.likely import is_told, likely


def checks(incident: Incident) -> tuple[str, ...]:
    """In the order in which to do them. Where the cause is not told, those of all likely ones, each line once and with
    the causes that it serves, where it doesn't serve all: lists that go from outside to the next outage are merged by
    how far down a check stands."""
    if is_told(incident):
        return incident.checks
    causes = likely(incident)
    serves: dict[str, list[str]] = {}
    depth: dict[str, float] = {}
    for other in causes:
        lines = _checks(incident, other)
        for n, line in enumerate(lines):
            serves.setdefault(line, []).append(words.cause(other.cause, other.role))
            depth[line] = max(depth.get(line, 0.0), n / len(lines))
    return tuple(
        line if len(serves[line]) == len(causes) else f"{line} ({', '.join(serves[line])})"
        for line in sorted(serves, key=lambda line: depth[line])
    )


def cautions(incident: Incident) -> tuple[str, ...]:
    """Those of every check that is told."""
    if is_told(incident):
        return incident.cautions
    others = (line for other in likely(incident) for line in CAUSES[other.cause].cautions)
    return tuple(dict.fromkeys((*incident.cautions, *others)))


def _checks(incident: Incident, other: Alternative) -> tuple[str, ...]:
    own = (other.cause, other.role) == (incident.cause, incident.role)
    return incident.checks if own else CAUSES[other.cause].checks_of(other.role)
