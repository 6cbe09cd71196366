"""The records of a scan's result: what JSON, the register and the reports show."""

from dataclasses import dataclass
from typing import Literal

import pandas as pd

from sevenppb.detect.seasonal.lent import Lent

Shape = Literal["ramp", "step", "intermittent"]
State = Literal["new", "open", "worsening", "eased", "closed", "acknowledged"]
VesselState = Literal["scanned", "too-little-data", "failed"]


@dataclass(frozen=True, slots=True)
class Alternative:
    """Another cause, and the moves (feature, [unit of its evidence]) that it would have made."""

    cause: str
    role: str | None
    confidence: float
    moves: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Magnitude:
    """The health parameter's move: `what` in words, 90 % interval, unit ("fraction", "degC", "ppb", ...). `averaged`:
    of a change that comes and goes, a mean over its days on and off."""

    what: str
    value: float
    low: float
    high: float
    unit: str
    averaged: bool = False


@dataclass(frozen=True, slots=True)
class LimitReached:
    """When a role or feature reaches its limit: already past, or projected with a 90 % interval."""

    what: str
    at: pd.Timestamp
    low: pd.Timestamp | None
    high: pd.Timestamp | None


@dataclass(frozen=True, slots=True)
class Projected:
    """Outlet oxygen on a coming day [ppb], with a 90 % interval, should the health parameter go on as it went."""

    day: pd.Timestamp
    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Consequence:
    """What the incident costs: oxygen over the limit [ppb], steam lost [kg/h], money a year or None. `oxygen_added_ppb`
    is the change's own part of oxygen that was over the limit already before it; None where it was not. `valve_open` is
    the steam valve's opening at high load [fraction], where the change has left little of its travel."""

    oxygen_excess_ppb: float | None
    steam_lost_kg_h: float
    cost_per_year: float | None
    oxygen_added_ppb: float | None = None
    valve_open: float | None = None


@dataclass(frozen=True, slots=True)
class Evidence:
    """One residual's part: expected and observed over the incident's last weeks, and the move in standard errors.
    `predicted` is the move that the named cause would make [unit], for the signature plot; NaN where it makes none."""

    feature: str
    unit: str
    expected: float
    observed: float
    z: float
    predicted: float


@dataclass(frozen=True, slots=True)
class Incident:
    """One finding. Times are UTC days. `urgency` = `probability` × `severity`. `projection` has a row a week from
    the last reading on; none where outlet oxygen is not recorded, or where nothing grows any more. `beside`: a second
    cause and its role, where the named one alone doesn't explain what moved. `standstill`: first and last day without a
    steady hour, where the end lies among such. `grown`: about the day from which a ramp has clearly grown no more."""

    rank: int
    id: str
    vessel: str
    cause: str
    role: str | None
    confidence: float
    alternatives: tuple[Alternative, ...]
    shape: Shape
    onset: pd.Timestamp
    onset_interval: tuple[pd.Timestamp, pd.Timestamp]
    first_flagged: pd.Timestamp
    ended: pd.Timestamp | None
    state: State
    magnitude: Magnitude
    urgency: float
    probability: float
    severity: float
    limit_reached: LimitReached | None
    consequence: Consequence
    evidence: tuple[Evidence, ...]
    checks: tuple[str, ...]
    cautions: tuple[str, ...]
    projection: tuple[Projected, ...] = ()
    beside: tuple[str, str | None] | None = None
    standstill: tuple[pd.Timestamp, pd.Timestamp] | None = None
    grown: pd.Timestamp | None = None

    @property
    def at_work_or_likely(self) -> tuple[Alternative, ...]:
        """Other causes as files list them: first the one beside the named one, as sure as that, then what else it may
        be."""
        second = () if self.beside is None else (Alternative(*self.beside, self.confidence),)
        return (*second, *self.alternatives)


@dataclass(frozen=True, slots=True)
class HealthParameter:
    """A parameter of the balance as fitted to the baseline [unit], with a 90 % interval. `usual` is the value of a
    deaerator like most. Where the tags do not show it, it is not `determined` and stays near the usual value."""

    parameter: str
    value: float
    low: float
    high: float
    unit: str
    usual: float
    determined: bool


@dataclass(frozen=True, slots=True)
class Coverage:
    """What this vessel's tags can show of one cause. `smallest` is the smallest visible move of the cause's
    parameter, None where the cause is not visible."""

    cause: str
    visible: bool
    smallest: float | None
    confusable_with: tuple[str, ...]
    missing_roles: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class VesselScan:
    """One vessel's result. `daily` has a row a day (index UTC days) with, for each watched feature f:
    observed_f, expected_f, band_f (the expected value's standard uncertainty for one day), residual_f, chart_f (its
    two-sided CUSUM over its threshold; 1 is the limit), and for each cause c chart_c likewise; hours = steady hours.
    `marks` counts hours by the reason they were not used; `used` counts the steady ones. `health` is that of the
    baseline; `lent`, what a baseline of a year says of the seasons, for other vessels."""

    id: str
    state: VesselState
    error: str | None
    readings: int
    usable: float
    hours_running: float
    span: tuple[pd.Timestamp, pd.Timestamp] | None
    baseline: tuple[pd.Timestamp, pd.Timestamp] | None
    coverage: tuple[Coverage, ...]
    notes: tuple[str, ...]
    incidents: tuple[Incident, ...]
    daily: pd.DataFrame
    units: dict[str, str]
    tally: pd.DataFrame
    marks: dict[str, int]
    health: tuple[HealthParameter, ...]
    lent: Lent | None = None


@dataclass(frozen=True, slots=True)
class FleetScan:
    """A whole scan: vessels in the fleet file's order, incidents over all vessels by rank."""

    fleet: str
    tool: str
    start: pd.Timestamp | None
    until: pd.Timestamp | None
    vessels: tuple[VesselScan, ...]
    incidents: tuple[Incident, ...]
