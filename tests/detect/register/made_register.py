"""Made-up scans for the register's tests, built without any detector."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import pandas as pd

from sevenppb.detect.causes import CAUSES
from sevenppb.detect.fleet import Fleet, Vessel, Work
from sevenppb.detect.incidents.incident import Consequence, FleetScan, Incident, Magnitude, VesselScan
from sevenppb.detect.register import store
from sevenppb.detect.register.finding import Finding, finding
from sevenppb.detect.register.matching import Known

NAME = "Northmere heating plant"
DAY = pd.Timedelta(days=1)


def day(text: str) -> pd.Timestamp:
    return pd.Timestamp(text, tz="UTC")


WATCHED_FROM = day("2025-04-01")


def incident(flagged: str, vessel: str = "DA-1", **changes: Any) -> Incident:
    """A choked vent, its onset ten days before it was flagged, with `changes` laid over it."""
    first = day(flagged)
    cause = CAUSES[changes.get("cause", "choked-vent")]
    values: dict[str, Any] = {
        "rank": 1, "id": "", "vessel": vessel, "cause": cause.slug, "role": None, "confidence": 0.9,
        "alternatives": (), "shape": "ramp", "onset": first - 10 * DAY,
        "onset_interval": (first - 14 * DAY, first - 6 * DAY), "first_flagged": first, "ended": None,
        "state": "new", "magnitude": Magnitude(cause.what, 0.4, 0.3, 0.5, cause.unit), "urgency": 0.4,
        "probability": 0.95, "severity": 0.42, "limit_reached": None,
        "consequence": Consequence(1.0, 0.0, None), "evidence": (), "checks": (), "cautions": (),
    }  # fmt: skip
    return Incident(**(values | changes))


def sized(found: Incident, value: float) -> Incident:
    return replace(found, magnitude=Magnitude("vent area lost", value, value - 0.1, value + 0.1, "fraction"))


def vessel_scan(name: str, until: str, **changes: Any) -> VesselScan:
    nothing = pd.DataFrame()
    whole = VesselScan(
        id=name, state="scanned", error=None, readings=1000, usable=0.9, hours_running=8000.0,
        span=(day("2025-01-01"), day(until)), baseline=(day("2025-01-01"), WATCHED_FROM), coverage=(),
        notes=(), incidents=(), daily=nothing, units={}, tally=nothing, marks={}, health=(),
    )  # fmt: skip
    return replace(whole, **changes)


def scan(until: str, *incidents: Incident, vessels: tuple[str, ...] = ("DA-1", "DA-2")) -> FleetScan:
    """A scan of `vessels` with readings up to `until`."""
    seen = tuple(vessel_scan(name, until) for name in vessels)
    ranked = tuple(replace(row, rank=n) for n, row in enumerate(incidents, start=1))
    return FleetScan(NAME, "sevenppb 0.1.0", day("2025-01-01"), day(until), seen, ranked)


def fleet(*work: Work) -> Fleet:
    """Two vessels; the work was done on the first."""
    vessels = tuple(
        Vessel(name, (), "auto", {}, None, None, 101_325.0, None, {}, work if name == "DA-1" else ())
        for name in ("DA-1", "DA-2")
    )
    return Fleet(NAME, Path("fleet.toml"), "Europe/Oslo", "si", None, vessels)


def known(
    flagged: str,
    id_: str = "DA-1/2025-001",
    closed: str | None = None,
    until: str = "2025-10-01",
    **changes: Any,
) -> Known:
    found: Finding = finding(incident(flagged, **changes))
    return Known(id_, "open", found, found, None if closed is None else day(closed), day(until))


def states(recorded: store.Recorded) -> dict[str, str]:
    return {row.id: row.state for row in recorded.scan.incidents}


def record_weeks(path: Path, first_week: int, weeks: int, vessels: tuple[str, ...]) -> None:
    """A scan a week: each vessel has an incident from the start, the first one another every fourth week."""
    for week in range(first_week, first_week + weeks):
        until = day("2025-06-01") + 7 * week * DAY
        rows = [incident("2025-05-01", vessel=name, urgency=0.1 + 0.001 * week) for name in vessels]
        rows += [
            incident(str((day("2025-06-01") + 28 * k * DAY).date()), vessel=vessels[0], cause="heat-loss")
            for k in range(week // 4 + 1)
        ]
        store.record(path, scan(str(until.date()), *rows, vessels=vessels), fleet(), until)
