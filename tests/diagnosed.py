"""A made-up vessel's days as the diagnosis gets them."""

from dataclasses import dataclass, replace

import made_vessels
import numpy as np

from sevenppb import detect
from sevenppb.detect import features
from sevenppb.detect.diagnosis import likelihood, own_reading, signatures
from sevenppb.detect.diagnosis.change import Change
from sevenppb.detect.diagnosis.likelihood import Diagnosis, Patterns
from sevenppb.detect.diagnosis.signatures import Instruments, Signatures
from sevenppb.detect.expected import Days
from sevenppb.detect.quality.steady import load_role
from sevenppb.detect.settings import DEFAULTS
from sevenppb.synthetic.simulation import Simulated

FIVE_TAGS = ["shell_pressure", "storage_temperature", "steam_pressure", "inlet_flow", "inlet_temperature"]


@dataclass(frozen=True)
class Bench:
    """What the diagnosis knows of one vessel; `usual` [F, J] are the candidates' mean signatures."""

    days: Days
    instruments: Instruments
    signed: Signatures
    patterns: Patterns

    @property
    def usual(self) -> np.ndarray:
        return np.nanmean(self.signed.moves, axis=0)

    def pattern(self, name: str) -> np.ndarray:
        return self.usual[:, [c.name for c in self.signed.candidates].index(name)]

    def natural(self) -> np.ndarray:
        return np.array([features.WATCHED[f].natural for f in self.days.features])

    def effect(self, **moved: float) -> np.ndarray:
        """Effects on the test scale, in natural moves; the features not named stay."""
        return np.array([moved.get(f, 0.0) for f in self.days.features]) * self.natural()

    def change(self, effect: np.ndarray, error: float = 0.02) -> Change:
        """A step a hundred days ago with these effects, their errors a share of the natural moves."""
        n = len(self.days.index)
        onset = n - 100
        course = (np.arange(n) >= onset).astype(float)
        return Change("step", onset, onset, onset, onset, course, effect, error * self.natural(), n)

    def read_with(self, **moved: float) -> "Bench":
        """The same vessel, the readings of whose conditions moved by so much with that step."""
        course = self.change(self.effect()).course
        conditions = {role: getattr(self.days.at, role) + by * course for role, by in moved.items()}
        days = replace(self.days, at=replace(self.days.at, **conditions))
        own = own_reading.own_readings(days, self.instruments.roles)
        return replace(self, days=days, patterns=replace(self.patterns, own=own))

    def diagnosis(self, effect: np.ndarray, error: float = 0.02, earlier: tuple = ()) -> Diagnosis:
        """Of that step."""
        known = np.eye(len(self.days.features))
        change = self.change(effect, error)
        return likelihood.diagnose(self.days, change, self.patterns, known, DEFAULTS, earlier)


def shares(diagnosis: Diagnosis) -> dict[tuple[str, str | None], float]:
    """Probability of each (cause, role), over signs."""
    out: dict[tuple[str, str | None], float] = {}
    for e in diagnosis.explanations:
        out[e.cause, e.role] = out.get((e.cause, e.role), 0.0) + e.probability
    return out


def bench(made: Simulated, roles: list[str] | None = None) -> Bench:
    hourly = made.readings if roles is None else made.readings[roles]
    vessel, readings = made_vessels.described(made), made_vessels.as_read(made, hourly)
    baseline = (made_vessels.START, made_vessels.day(made_vessels.BASELINE))
    days, _ = detect.residual_days(vessel, readings, detect.hour_marks(vessel, readings), baseline)
    instruments = Instruments(frozenset(hourly.columns), load_role(hourly), days.swing)
    signed = signatures.signatures(days.at, days.fitted.health, days.features, instruments)
    return Bench(days, instruments, signed, likelihood.patterns_of(days, instruments))
