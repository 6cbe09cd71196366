"""One scan's look at one vessel, and what follows from it for the vessel's incidents. No file, no clock."""

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import pandas as pd

from sevenppb.detect.incidents.incident import Incident, State, VesselScan, VesselState
from sevenppb.detect.register import states
from sevenppb.detect.register.finding import Finding, finding, moment_text, to_text
from sevenppb.detect.register.matching import Known, match


@dataclass(frozen=True)
class Look:
    """What a scan saw of a vessel: the readings' span, from when on changes could be found (the baseline's
    end), and what was found. Times are UTC, None where there were none."""

    vessel: str
    state: VesselState
    start: pd.Timestamp | None
    until: pd.Timestamp | None
    watched_from: pd.Timestamp | None
    findings: tuple[Finding, ...]

    @property
    def fingerprint(self) -> str:
        """The same for the same result, whoever scans and whenever."""
        times = (self.start, self.until, self.watched_from)
        lines = [self.state, *("" if t is None else moment_text(t) for t in times)]
        text = "\n".join(lines + [to_text(found) for found in self.findings])
        return hashlib.sha256(text.encode()).hexdigest()

    def could_see(self, found: Finding) -> bool:
        """Whether this scan would have found it, were it there. What began inside the baseline counts as
        healthy; a stuck reading is found there too."""
        if self.state != "scanned" or self.start is None or self.until is None or self.watched_from is None:
            return False
        if found.cause == "sensor-stuck":
            return self.start <= found.onset and found.first_flagged <= self.until
        return self.watched_from <= found.first_flagged <= self.until


@dataclass(frozen=True)
class Sighting:
    """An incident at one scan: its state before (None: listed for the first time) and after, and what was
    found (None: no longer found)."""

    id: str
    before: State | None
    state: State
    found: Finding | None


def look(vessel: VesselScan, incidents: Iterable[Incident]) -> Look:
    """A vessel's scan and its incidents as the register sees them, in an order that no rank changes."""
    findings = {finding(incident) for incident in incidents}
    return Look(
        vessel=vessel.id,
        state=vessel.state,
        start=None if vessel.span is None else vessel.span[0],
        until=None if vessel.span is None else vessel.span[1],
        watched_from=None if vessel.baseline is None else vessel.baseline[1],
        findings=tuple(sorted(findings, key=lambda found: (found.first_flagged, to_text(found)))),
    )


def sightings(seen: Look, known: Sequence[Known], *, back: bool) -> tuple[Sighting, ...]:
    """What a look says of a vessel's incidents, known and new.

    known  all of the vessel's registered incidents
    back   the look ends before readings that an earlier scan has used: it knows less, so it changes no state
    """
    by_id = {incident.id: incident for incident in known}
    matched = match(seen.findings, known)
    told = []
    taken = set(by_id)
    for place, found in enumerate(seen.findings):
        if place in matched:
            incident = by_id[matched[place]]
            after = (
                incident.state
                if back
                else states.next_state(incident.state, states.event(found, incident.yardstick))
            )
            told.append(Sighting(incident.id, incident.state, after, found))
        else:
            fresh = _next_id(seen.vessel, found.first_flagged.year, taken)
            taken.add(fresh)
            told.append(Sighting(fresh, None, states.next_state(None, states.event(found, None)), found))
    if not back:
        missing = (by_id[each] for each in sorted(by_id.keys() - set(matched.values())))
        told += [
            Sighting(incident.id, incident.state, states.next_state(incident.state, "missing"), None)
            for incident in missing
            if incident.state not in ("eased", "closed") and seen.could_see(incident.found)
        ]
    return tuple(told)


def _next_id(vessel: str, year: int, taken: set[str]) -> str:
    """Incidents are never taken out of the register, so one above the highest number was never given."""
    prefix = f"{vessel}/{year}-"
    numbers = [int(each.removeprefix(prefix)) for each in taken if each.startswith(prefix)]
    return f"{prefix}{max(numbers, default=0) + 1:03d}"
