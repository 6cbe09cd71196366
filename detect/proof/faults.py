"""A fault of known size put into hourly readings, by the balance model's own signatures: each recorded
reading moves as the forward function says it would if the cause's parameter moved, hour by hour at that
hour's load."""

from dataclasses import dataclass, fields, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from sevenppb.detect import features
from sevenppb.detect.balance import conditions, model
from sevenppb.detect.balance.health import Health
from sevenppb.detect.balance.model import Conditions
from sevenppb.detect.causes import CAUSES
from sevenppb.detect.diagnosis.signatures import Candidate
from sevenppb.detect.features import SWING, WATCHED, Watched, to_test
from sevenppb.detect.fleet import Vessel
from sevenppb.detect.quality.steady import load_role
from sevenppb.detect.roles import ROLES

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Fault:
    """`size` in steps of the candidate's signature, grown in a straight line over `growth`, from `onset`
    on."""

    candidate: Candidate
    size: float
    onset: pd.Timestamp
    growth: pd.Timedelta

    def course(self, index: pd.DatetimeIndex) -> Array:
        """0 before the onset, 1 at full size."""
        return np.asarray(np.clip(np.asarray((index - self.onset) / self.growth, dtype=float), 0.0, 1.0))


def with_fault(hourly: pd.DataFrame, vessel: Vessel, health: Health, fault: Fault) -> pd.DataFrame:
    """The readings of a vessel in this health, with the fault. A reading stays within its role's range, and
    the flow that stands for the load stays as it is."""
    candidate = fault.candidate
    move = candidate.sign * candidate.step * fault.size * fault.course(pd.DatetimeIndex(hourly.index))
    out = hourly.copy()
    if candidate.role is not None:
        out[candidate.role] = _moved(hourly[candidate.role], move, candidate.logarithmic)
    else:
        for feature, by in _moves(hourly, vessel, health, candidate.cause, move).items():
            row = WATCHED[feature]
            sign = -1.0 if feature == "subcooling" else 1.0  # colder water is more subcooling
            out[row.role] = _moved(hourly[row.role], sign * by, row.scale == "log")
    return out


def _moved(reading: pd.Series, by: Array, logarithmic: bool) -> pd.Series:
    role = ROLES[str(reading.name)]
    moved = reading * np.exp(by) if logarithmic else reading + by
    return moved.clip(np.minimum(role.low, reading), np.maximum(role.high, reading))


def _moves(hourly: pd.DataFrame, vessel: Vessel, health: Health, cause: str, move: Array) -> dict[str, Array]:
    """How each recorded feature moves [test scale] when the cause's parameter moves by `move`, per hour."""
    recorded = [
        row for row in WATCHED.values() if row.role in hourly.columns and not row.name.endswith(SWING)
    ]
    recorded = [row for row in recorded if row.role != load_role(hourly)]
    read, _ = conditions.conditions_of(hourly, features.barometer_of(hourly, vessel))
    sick = health.moved(CAUSES[cause].parameter or "", move)
    moves = _between(read, health, read, sick, recorded)
    # A reading that the model takes as a condition moves too, and what hangs on it moves with it.
    also = {f.name for f in fields(Conditions)} & set(moves)
    changed = {
        name: _moved(hourly[name], moves[name], WATCHED[name].scale == "log").to_numpy() for name in also
    }
    return _between(read, health, replace(read, **changed), sick, recorded)


def _between(
    at: Conditions, well: Health, at_sick: Conditions, sick: Health, recorded: list[Watched]
) -> dict[str, Array]:
    before, after = model.expected(at, well), model.expected(at_sick, sick)
    return {
        row.name: np.nan_to_num(
            to_test(row, getattr(after, row.name)) - to_test(row, getattr(before, row.name))
        )
        for row in recorded
    }
