"""A cause's signature: how each watched residual moves when the cause's parameter moves, at this vessel's own
operating points, by finite differences of the forward function."""

from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from sevenppb.detect.balance import model
from sevenppb.detect.balance.health import ADDITIVE, Health
from sevenppb.detect.balance.model import Conditions, Expected
from sevenppb.detect.causes import CAUSES
from sevenppb.detect.features import SWING, WATCHED, to_test
from sevenppb.detect.physics import steam

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Candidate:
    """Something that may have happened: a cause, for sensor drift its role, the sign of the move, and the finite
    move that the signature was taken at (log, or the parameter's unit; for sensors log or the role's unit)."""

    cause: str
    role: str | None
    sign: int
    step: float
    logarithmic: bool

    @property
    def name(self) -> str:
        return (
            self.cause if self.role is None else f"{self.cause}:{self.role}:{'+' if self.sign > 0 else '-'}"
        )


# A usual size of each parameter's move, where the forward function is differenced: common practice, no source.
STEPS = {"log": 0.4, "heat_loss": 0.6}

# Sensors whose drift is looked for: usual drift at which the signature is taken. Flows, oxygen and the differential
# drift by a factor (log), the others by an offset [role's unit].
SENSOR_STEPS: dict[str, tuple[float, bool]] = {
    "shell_pressure": (2500.0, False),
    "storage_temperature": (0.8, False),
    "steam_pressure": (2.0e4, False),
    "steam_flow": (0.05, True),
    "inlet_temperature": (2.0, False),
    "inlet_flow": (0.05, True),
    "outlet_flow": (0.05, True),
    "makeup_flow": (0.2, True),
    "outlet_oxygen": (0.4, True),
    "inlet_oxygen": (0.4, True),
    "vent_temperature": (3.0, False),
    "vent_flow": (0.2, True),
    "spray_differential": (0.1, True),
}


@dataclass(frozen=True)
class Signatures:
    """moves [..., n, F, J]: residual of each feature on the test scale under each candidate's step."""

    candidates: tuple[Candidate, ...]
    moves: Array


@dataclass(frozen=True)
class Instruments:
    """What is recorded: roles, the one that stands for the load, and the vessel's usual swing of ln(load) within a
    day, over which `_swing` features rise."""

    roles: frozenset[str]
    load: str | None
    swing: float


def signatures(
    at: Conditions,
    health: Health,
    features: tuple[str, ...],
    instruments: Instruments,
    times: tuple[float, ...] = (),
) -> Signatures:
    """Signatures of every cause with a parameter and of every recorded sensor, at the conditions `at` [n].

    features  levels first, then swings; with K draws of health, moves has a leading axis K
    times     multiples of the step: where given, moves has a leading axis of them (a sensor's error moves the
              residuals in proportion)
    """
    level = tuple(f for f in features if not f.endswith(SWING))
    here = _at_one_load(at, health, level, instruments, times)
    moves = [here.moves[..., level.index(f), :] for f in level]
    if len(level) < len(features):
        by = instruments.swing
        high = _at_one_load(replace(at, flow=at.flow * np.exp(by)), health, level, instruments, times)
        low = _at_one_load(replace(at, flow=at.flow * np.exp(-by)), health, level, instruments, times)
        rise = (high.moves - low.moves) / 2.0
        moves += [rise[..., level.index(f.removesuffix(SWING)), :] for f in features if f.endswith(SWING)]
    return Signatures(here.candidates, np.stack(moves, axis=-2))


def _at_one_load(
    at: Conditions,
    health: Health,
    features: tuple[str, ...],
    instruments: Instruments,
    times: tuple[float, ...],
) -> Signatures:
    base = _test_scale(model.expected(at, health), features)
    candidates: list[Candidate] = []
    moves: list[Array] = []
    for cause in CAUSES.values():
        if cause.parameter is None:
            continue
        additive = cause.parameter in ADDITIVE
        step = cause.sign * STEPS["heat_loss" if additive else "log"]
        candidates.append(Candidate(cause.slug, None, cause.sign, abs(step), not additive))
        sick = [
            _test_scale(model.expected(at, health.moved(cause.parameter, step * t)), features) - base
            for t in times or (1.0,)
        ]
        moves.append(np.stack(sick) if times else sick[0])
    for role, (size, logarithmic) in SENSOR_STEPS.items():
        if role not in instruments.roles:
            continue
        field = {instruments.load: "flow", "makeup_flow": "makeup_share"}.get(role, role)
        for sign in (1, -1):
            candidates.append(Candidate("sensor-drift", role, sign, size, logarithmic))
            lying = _lying(at, health, features, base, role, field, sign * size, logarithmic)
            moves.append(np.stack([t * lying for t in times]) if times else lying)
    return Signatures(tuple(candidates), np.nan_to_num(np.stack(moves, axis=-1)))


def _lying(
    at: Conditions,
    health: Health,
    features: tuple[str, ...],
    base: Array,
    role: str,
    field: str,
    shift: float,
    log: bool,
) -> Array:
    """Residuals when one sensor shows more by `shift` than is true. `at` is what is read; the truth is less."""
    moved = np.zeros_like(base)
    if field in {f.name for f in fields(Conditions)}:
        read = getattr(at, field)
        true = replace(at, **{field: read * np.exp(-shift) if log else read - shift})
        moved = _test_scale(model.expected(true, health), features) - base
    for i, name in enumerate(features):
        if WATCHED[name].role == role and name != "subcooling":
            moved[..., i] += shift
    if "subcooling" in features:
        i = features.index("subcooling")
        if role == "storage_temperature":
            moved[..., i] -= shift
        if role == "shell_pressure":
            read = steam.saturation_temperature(at.shell_pressure)
            moved[..., i] += read - steam.saturation_temperature(at.shell_pressure - shift)
    return moved


def _test_scale(model_out: Expected, features: tuple[str, ...]) -> Array:
    columns = np.broadcast_arrays(*(to_test(WATCHED[f], getattr(model_out, f)) for f in features))
    return np.stack(columns, axis=-1)
