"""Instruments: from what is true in the plant to what a transmitter says.

An instrument has a fixed calibration error, quick noise, noise over days, a slow wander over months, and a
resolution. Its errors come from a generator of its own, so that a fault elsewhere leaves them as they are.
Accuracies are common practice from memory, no source.
"""

from dataclasses import dataclass

import numpy as np
from scipy.signal import lfilter

from sevenppb.synthetic.closures import spray_differential
from sevenppb.synthetic.drivers import MINUTES_A_DAY, Clock, Course, wandering
from sevenppb.synthetic.faults import Fault
from sevenppb.synthetic.plant import States
from sevenppb.synthetic.steam import Array, ln_bar, steam
from sevenppb.synthetic.vessel import VesselSpec


@dataclass(frozen=True)
class Instrument:
    """A row of the table of instruments. `accuracy` is the standard deviation of calibration errors: an
    amount in the role's unit, or a share of the reading where `relative`. `recorded` is the share of vessels
    whose historian keeps the role."""

    accuracy: float
    relative: bool
    resolution: float
    recorded: float


# units: Pa, °C, kg/s, fractions of one, ug/kg
INSTRUMENTS: dict[str, Instrument] = {
    "shell_pressure": Instrument(500.0, False, 50.0, 1.0),
    "storage_temperature": Instrument(0.2, False, 0.05, 1.0),
    "steam_pressure": Instrument(4000.0, False, 1000.0, 0.85),
    "steam_flow": Instrument(0.015, True, 1e-4, 0.65),
    "steam_temperature": Instrument(0.8, False, 0.1, 0.5),
    "steam_valve": Instrument(0.008, False, 0.001, 0.9),
    "inlet_temperature": Instrument(0.4, False, 0.1, 0.9),
    "inlet_flow": Instrument(0.01, True, 1e-4, 0.85),
    "outlet_flow": Instrument(0.01, True, 1e-4, 0.85),
    "outlet_oxygen": Instrument(0.06, True, 0.01, 0.7),
    "inlet_oxygen": Instrument(0.05, True, 0.1, 0.2),
    "vent_temperature": Instrument(0.4, False, 0.1, 0.5),
    "vent_flow": Instrument(0.03, True, 1e-5, 0.1),
    "vent_valve": Instrument(0.004, False, 0.001, 0.3),
    "spray_differential": Instrument(0.015, True, 10.0, 0.5),
    "level": Instrument(0.01, False, 0.001, 0.9),
    "drain_flow": Instrument(0.02, True, 1e-4, 0.6),
    "drain_temperature": Instrument(0.5, False, 0.1, 0.5),
    "makeup_flow": Instrument(0.015, True, 1e-4, 0.6),
    "makeup_temperature": Instrument(0.4, False, 0.1, 0.4),
    "barometric_pressure": Instrument(60.0, False, 10.0, 0.35),
    "scavenger_flow": Instrument(0.04, True, 1e-7, 0.8),
}

ROLES = tuple(INSTRUMENTS)
SCAVENGER_DOSE = 2e-7  # kg of scavenger a kg of feed water
VENT_LINE_MINUTES = 6.0
RECALIBRATIONS = 0.3  # a year and instrument


def possible_roles(spec: VesselSpec) -> tuple[str, ...]:
    """Every role that exists on this vessel: no drain tags without drains, no scavenger tag without one."""
    absent = set()
    if not spec.drain_share:
        absent |= {"drain_flow", "drain_temperature"}
    if not spec.scavenger:
        absent |= {"scavenger_flow"}
    return tuple(r for r in ROLES if r not in absent)


def draw_roles(rng: np.random.Generator, spec: VesselSpec) -> tuple[str, ...]:
    """The roles that this vessel's historian keeps; one of the two water flows always among them."""
    chance = {role: rng.random() for role in ROLES}
    kept = [r for r in possible_roles(spec) if chance[r] < INSTRUMENTS[r].recorded]
    if "inlet_flow" not in kept and "outlet_flow" not in kept:
        kept.append("outlet_flow")
    return tuple(kept)


def vent_temperature(
    spec: VesselSpec, clock: Clock, pressure: Array, air: Array, flow: Array, ambient: Array
) -> Array:
    """Temperature of the vent line at its thermometer [°C].

    The line's mixture is at its dew point; the line's own loss condenses steam out of it and so makes it
    richer in gas; and the slower it flows, the more the thermometer stands towards ambient."""
    s = steam()
    dew = s.saturation(ln_bar(pressure * (1 - np.minimum(air, 0.9))))
    loss = spec.vent_line_loss * np.maximum(dew - ambient, 0) / 100.0
    condensed = np.minimum(loss / np.maximum(flow * 2200.0, 1e-9), 0.97)
    richer = air / (air + (1 - air) * (1 - condensed))
    floor = np.log(0.41)  # of the property fits [bar]
    line = s.saturation(np.maximum(ln_bar(pressure) + np.log1p(-np.minimum(richer, 0.9)), floor))
    film = np.minimum(spec.vent_film * np.maximum(flow / spec.vent_design, 1e-3) ** -0.6, 1.0)
    shown = line - film * (line - ambient)
    keep = float(np.exp(-clock.step_minutes / VENT_LINE_MINUTES))
    return np.asarray(lfilter([1 - keep], [1.0, -keep], shown, zi=np.array([keep * shown[0]]))[0])


def _spray_differential(spec: VesselSpec, inlet: Array, area: Array, spring: Array) -> Array:
    flow = np.maximum(inlet / (spec.rated * area), 1e-6)
    # without flow the spring valves close and nothing is left of the differential
    crack = spec.spray_crack * spring * np.minimum(flow / 0.03, 1)
    return spray_differential(crack, np.array(spec.spray_rise), np.array(spec.spray_exponent), np.log(flow))


def true_readings(
    spec: VesselSpec,
    clock: Clock,
    course: Course,
    health: dict[str, Array],
    ambient: Array,
    barometer: Array,
    states: States,
    column: int,
) -> dict[str, Array]:
    """What perfect instruments would read, role → (steps,), in Pa absolute, °C, kg/s, fractions, ug/kg."""
    s = steam()
    of = {name: np.ascontiguousarray(values[:, column]) for name, values in vars(states).items()}
    inlet, pressure, area = of["inlet_flow"], of["pressure"], of["valve_area"]
    lowest = 1 / spec.valve_range
    position = np.where(area > lowest, 1 + np.log(np.maximum(area, lowest)) / np.log(spec.valve_range), 0.0)
    steps = len(inlet)
    return {
        "shell_pressure": pressure,
        "storage_temperature": np.asarray(s.temperature(of["storage_enthalpy"])),
        "steam_pressure": course.header_pressure,
        "steam_flow": of["steam_flow"],
        "steam_temperature": course.steam_temperature,
        "steam_valve": position,
        "inlet_temperature": course.inlet_temperature,
        "inlet_flow": inlet,
        "outlet_flow": course.outflow,
        "outlet_oxygen": of["storage_oxygen"] * (1 - spec.scavenger),
        "inlet_oxygen": course.inlet_oxygen,
        "vent_temperature": vent_temperature(spec, clock, pressure, of["top_air"], of["vent_flow"], ambient),
        "vent_flow": of["vent_flow"],
        "vent_valve": np.full(steps, spec.vent_opening),
        "spray_differential": _spray_differential(spec, inlet, health["spray_area"], health["spray_spring"]),
        "level": of["level"],
        "drain_flow": course.drain_flow,
        "drain_temperature": course.drain_temperature,
        "makeup_flow": course.makeup_share * inlet,
        "makeup_temperature": course.makeup_temperature,
        "barometric_pressure": barometer,
        "scavenger_flow": SCAVENGER_DOSE * course.outflow,
    }


def measured(
    rng: np.random.Generator, role: str, true: Array, clock: Clock, scale: float, restless: float
) -> Array:
    """What the role's instrument says of `true`. `scale` is a usual reading, for the zero error: a share of
    it that does not vanish with the reading. `restless`: wander over that of a usual instrument."""
    n, per_day = len(true), MINUTES_A_DAY / clock.step_minutes
    instrument = INSTRUMENTS[role]
    quick, days, months = rng.uniform(0.2, 0.5), rng.uniform(0.1, 0.3), rng.uniform(0.15, 0.35)
    fixed = np.full(n, rng.normal(0, 0.8))
    # recalibrated or replaced now and then: a step within what the accuracy allows, no fault
    for start in rng.uniform(0, n, rng.poisson(RECALIBRATIONS * n / per_day / 365.25)):
        fixed[int(start) :] += rng.normal(0, 0.4)
    wander = (
        quick * wandering(rng, n, rng.uniform(5.0, 40.0) / clock.step_minutes)
        + days * wandering(rng, n, rng.uniform(0.5, 3.0) * per_day)
        + months * wandering(rng, n, rng.uniform(40.0, 120.0) * per_day)
    )
    error = (fixed + restless * wander) * instrument.accuracy
    zero = rng.normal(0, 0.001) * scale if instrument.relative else 0.0
    return np.asarray(true * (1 + error) + zero if instrument.relative else true + error)


def with_sensor_fault(reading: Array, fault: Fault, clock: Clock) -> Array:
    """The reading with a drift or a sticking laid on it."""
    if fault.cause == "sensor-stuck":
        # a stuck value still moves on while not (yet) or no longer stuck
        stuck = fault.course(clock) > 0
        first = int(np.argmax(stuck))
        return np.where(stuck, reading[first], reading) if stuck.any() else reading
    grown = fault.course(clock) * fault.size
    return reading * (1 + grown) if fault.unit == "fraction" else reading + grown


def quantised(role: str, reading: Array) -> Array:
    """Rounded to the instrument's resolution; a concentration, a flow or a position is never below zero."""
    instrument = INSTRUMENTS[role]
    rounded = np.round(reading / instrument.resolution) * instrument.resolution
    if role.endswith(("flow", "oxygen", "valve", "level", "differential")):
        rounded = np.maximum(rounded, 0.0)
    return np.asarray(rounded)
