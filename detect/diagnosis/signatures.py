"""A cause's signature: how each watched residual moves when the cause's parameter moves, at this vessel's own
operating points, by finite differences of the forward function."""

from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from sevenppb.detect.balance import model
from sevenppb.detect.balance.health import ADDITIVE, Health
from sevenppb.detect.balance.model import Conditions, Expected
from sevenppb.detect.causes import CAUSES
from sevenppb.detect.features import SWING, WATCHED, Watched, to_test
from sevenppb.detect.physics import steam

Array = NDArray[np.float64]


Cause = tuple[str, str | None, int]  # with its role and sign


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
    "steam_valve": (0.04, False),
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


EVERY = tuple(sorted(WATCHED, key=lambda f: f.endswith(SWING)))  # levels first, then swings


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
    by = instruments.swing
    loads = (0.0, by, -by) if len(level) < len(features) else (0.0,)
    candidates, moves = _moves(_at_loads(at, loads), health, level, instruments, times)
    here, *both = np.moveaxis(moves.reshape(*moves.shape[:-3], len(loads), -1, *moves.shape[-2:]), -4, 0)
    picked = [here[..., level.index(f), :] for f in level]
    if both:
        rise = (both[0] - both[1]) / 2.0
        picked += [rise[..., level.index(f.removesuffix(SWING)), :] for f in features if f.endswith(SWING)]
    return Signatures(candidates, np.stack(picked, axis=-2))


def _at_loads(at: Conditions, logs: tuple[float, ...]) -> Conditions:
    """The conditions at several loads, one after the other, by the logarithm of what the flow is multiplied with."""
    many = {f.name: np.tile(getattr(at, f.name), len(logs)) for f in fields(Conditions)}
    return Conditions(**many | {"flow": np.concatenate([at.flow * np.exp(log) for log in logs])})


def _moves(
    at: Conditions,
    health: Health,
    features: tuple[str, ...],
    instruments: Instruments,
    times: tuple[float, ...],
) -> tuple[tuple[Candidate, ...], Array]:
    """Candidates, and moves [..., n, F, J] of features that are levels. The healthy plant and every sick one go through
    the forward function in one call, those with a wrong sensor in another: it costs calls more than points."""
    causes = [(cause, cause.parameter) for cause in CAUSES.values() if cause.parameter is not None]
    sizes = np.array(times or (1.0,))
    candidates = []
    by = {parameter: np.zeros(1 + len(causes) * len(sizes)) for _, parameter in causes}  # 0: healthy
    for j, (cause, parameter) in enumerate(causes):
        additive = parameter in ADDITIVE
        step = cause.sign * STEPS["heat_loss" if additive else "log"]
        candidates.append(Candidate(cause.slug, None, cause.sign, abs(step), not additive))
        by[parameter][1 + j * len(sizes) : 1 + (j + 1) * len(sizes)] = step * sizes
    draws = np.broadcast_shapes(*(np.shape(getattr(health, f.name)) for f in fields(Health)))  # () or (K, 1)
    wide = (-1, *[1] * max(len(draws), 1))
    plants = health.moved_by({parameter: steps.reshape(wide) for parameter, steps in by.items()})
    shape = (1 + len(causes) * len(sizes), *draws[:-1], len(at.flow))
    base, *sick = _test_scale(model.expected(at, plants), features, shape)
    moves = (np.stack(sick) - base).reshape(len(causes), len(sizes), *base.shape)

    sensors = [(role, sign) for role in SENSOR_STEPS if role in instruments.roles for sign in (1, -1)]
    candidates += [Candidate("sensor-drift", role, sign, *SENSOR_STEPS[role]) for role, sign in sensors]
    lying = _lying(at, health, features, base, sensors, instruments.load)
    in_proportion = sizes.reshape(-1, *[1] * base.ndim) * lying[:, None]
    every = np.nan_to_num(np.moveaxis(np.concatenate([moves, in_proportion]), 0, -1))
    return tuple(candidates), every if times else every[0]


def _lying(
    at: Conditions,
    health: Health,
    features: tuple[str, ...],
    base: Array,
    sensors: list[tuple[str, int]],
    load: str | None,
) -> Array:
    """Residuals [sensors, *base's shape] when one sensor, of a role and in the direction of a sign, shows more than is
    true. `at` is what is read; the truth is less."""
    moved = np.zeros((len(sensors), *base.shape))
    shifts = [sign * SENSOR_STEPS[role][0] for role, sign in sensors]
    conditions = {f.name for f in fields(Conditions)}
    stands_for = {"makeup_flow": "makeup_share", load: "flow"}
    read = {k: stands_for.get(role, role) for k, (role, _) in enumerate(sensors)}
    asked = [k for k in read if read[k] in conditions]
    true: dict[str, Array] = {}
    for row, k in enumerate(asked):
        shown = getattr(at, read[k])
        truth = true.setdefault(read[k], np.tile(shown, (len(asked), *[1] * (base.ndim - 1))))
        truth[row] = shown * np.exp(-shifts[k]) if SENSOR_STEPS[sensors[k][0]][1] else shown - shifts[k]
    if asked:
        truly = model.expected(replace(at, **true), health)
        moved[asked] = _test_scale(truly, features, (len(asked), *base.shape[:-1])) - base
    for k, (role, _) in enumerate(sensors):
        for i, name in enumerate(features):
            if WATCHED[name].role == role and name != "subcooling":
                moved[k, ..., i] += _shown(at, WATCHED[name], shifts[k], logarithmic=SENSOR_STEPS[role][1])
        if "subcooling" in features:
            i = features.index("subcooling")
            if role == "storage_temperature":
                moved[k, ..., i] -= shifts[k]
            if role == "shell_pressure":
                seen = steam.saturation_temperature(at.shell_pressure)
                moved[k, ..., i] += seen - steam.saturation_temperature(at.shell_pressure - shifts[k])
    return moved


def _shown(at: Conditions, feature: Watched, shift: float, *, logarithmic: bool) -> Array:
    """What a reading that shows more by `shift` than is true adds to its own feature, on the test scale."""
    if logarithmic or feature.scale == "linear":
        return np.asarray(shift)
    read = getattr(at, feature.role)
    return np.asarray(np.log(read / np.maximum(read - shift, feature.floor)))


def _test_scale(model_out: Expected, features: tuple[str, ...], shape: tuple[int, ...]) -> Array:
    """Features on the test scale [*shape, F]."""
    columns = (to_test(WATCHED[f], getattr(model_out, f)) for f in features)
    return np.stack([np.broadcast_to(column, shape) for column in columns], axis=-1)
