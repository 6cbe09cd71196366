"""What a proof tells: trials, causes, vessels, the fleet."""

from dataclasses import dataclass

import pandas as pd

from sevenppb.detect.incidents.incident import VesselState
from sevenppb.detect.proof.sizes import Smallest


@dataclass(frozen=True)
class Trial:
    """One fault put into one copy: `role` of a sensor, `size` in the cause's unit, whether the scan flagged
    anything within it, whether it named the cause (and the sensor), and days from onset to the end of the
    day flagged (None: missed)."""

    role: str | None
    size: float
    found: bool
    named: bool
    days: float | None


@dataclass(frozen=True)
class CauseProof:
    """One cause's trials by rising size; `unit` as in incidents ("fraction", "kW"; "steps" for sensors: a
    usual drift of that instrument)."""

    cause: str
    what: str
    unit: str
    trials: tuple[Trial, ...]
    smallest: Smallest
    days: float | None

    @property
    def found(self) -> int:
        """How many trials were found."""
        return sum(trial.found for trial in self.trials)


@dataclass(frozen=True)
class VesselProof:
    """One vessel. `baseline`: its first and last day. `untouched` copies without any fault were watched for
    `years` together and raised `false` incidents; causes in `unseen` are not visible with its tags and were
    not tried."""

    id: str
    state: VesselState
    error: str | None
    baseline: tuple[pd.Timestamp, pd.Timestamp] | None
    causes: tuple[CauseProof, ...]
    unseen: tuple[str, ...]
    untouched: int
    years: float
    false: int


@dataclass(frozen=True)
class FleetProof:
    """All vessels tried, in the fleet file's order. Days: `watched` after the baseline in each copy,
    `growth` of each fault to its full size, `within` which it counts as found."""

    fleet: str
    tool: str
    seed: int
    trials: int
    watched: int
    growth: int
    within: int
    vessels: tuple[VesselProof, ...]
