"""Which finding is which registered incident.

The same first day is the same incident, whatever has become of its onset, size and likeliest cause. More
readings can move that day too: they cut the same change into other episodes, or name another cause. A finding is
then the incident inside whose span it was flagged, as far as that span had been read: a watch that looks at the
same readings again flags nothing new in them. An incident that the scan still finds is matched with that, since
closer pairs go first; so a finding takes the id of an incident of another cause only where the scan no longer
finds that incident by itself.

A closed incident hides what is matched with it. There, two of three must agree: flagged within a week,
overlapping onset intervals, the same cause and sensor.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd

from sevenppb.detect.incidents.incident import State
from sevenppb.detect.register.finding import Finding

WEEK = pd.Timedelta(days=7)


@dataclass(frozen=True)
class Known:
    """A registered incident: its state, its latest finding, the finding that people last heard of (later
    growth is measured from it), when a person closed it, and where the readings of the latest finding ended."""

    id: str
    state: State
    found: Finding
    yardstick: Finding
    closed: pd.Timestamp | None
    until: pd.Timestamp


def match(findings: Sequence[Finding], known: Sequence[Known]) -> dict[int, str]:
    """Place of a finding → id of the incident that it is. All are of one vessel; the closest pairs go first,
    and each finding and incident has at most one partner."""
    pairs = [
        (likeness, incident.id, place)
        for place, found in enumerate(findings)
        for incident in known
        if (likeness := _likeness(found, incident)) is not None
    ]
    matched: dict[int, str] = {}
    taken: set[str] = set()
    for _, registered, place in sorted(pairs):
        if place not in matched and registered not in taken:
            matched[place] = registered
            taken.add(registered)
    return matched


def _likeness(found: Finding, incident: Known) -> tuple[bool, int, pd.Timedelta, pd.Timedelta] | None:
    """Sorts the closest pair first; None for a pair that can't be one incident."""
    known = incident.found
    if incident.closed is not None and found.onset > incident.closed:
        return None
    same_cause = (found.cause, found.role) == (known.cause, known.role)
    # a stuck reading is found by another test than a change, and says nothing of it
    if "sensor-stuck" in (found.cause, known.cause) and not same_cause:
        return None
    apart = abs(found.first_flagged - known.first_flagged)
    same_day = apart < pd.Timedelta(days=1)
    overlap = found.onset_low <= known.onset_high and known.onset_low <= found.onset_high
    agreeing = (apart <= WEEK) + overlap + same_cause
    if not same_day and agreeing < 2 and (incident.closed is not None or not _inside(found, incident)):
        return None
    return not same_day, -agreeing, apart, abs(found.onset - known.onset)


def _inside(found: Finding, incident: Known) -> bool:
    """Whether the finding was flagged within the incident's span, as far as that had been read."""
    known = incident.found
    over = incident.until if known.ended is None else known.ended
    return known.onset_low <= found.first_flagged <= over
