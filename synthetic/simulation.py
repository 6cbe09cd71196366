"""A plan of a fleet → vessels, their readings and the truth about their faults, all in memory."""

from collections.abc import Iterator
from dataclasses import dataclass, fields, replace

import numpy as np
import pandas as pd

from sevenppb.synthetic.drivers import Clock, Course, Site, derived, draw_course, draw_site
from sevenppb.synthetic.faults import CAUSES, Fault, apply_fault, draw_fault, healthy
from sevenppb.synthetic.historian import hourly_frames, kept
from sevenppb.synthetic.plant import Drivers, run
from sevenppb.synthetic.sensors import (
    INSTRUMENTS,
    draw_roles,
    measured,
    possible_roles,
    quantised,
    true_readings,
    with_sensor_fault,
)
from sevenppb.synthetic.steam import Array
from sevenppb.synthetic.tuning import tuned
from sevenppb.synthetic.unusual import unusual
from sevenppb.synthetic.vessel import Sizes, VesselSpec, draw_vessel

CELLS_AT_ONCE = 1_600_000  # steps times vessels that are simulated together: bounds the memory to about 1 GB
USUAL = 0.5  # a role that at least this share of vessels records is usual
CALM_DAYS = 20.0  # after the baseline before a drawn fault may begin
SEEN_DAYS = 60.0  # that a drawn fault has at least before the history ends


@dataclass(frozen=True)
class PlannedFault:
    """A fault on the vessel with this number (from 0)."""

    vessel: int
    fault: Fault


@dataclass(frozen=True)
class FleetPlan:
    """What to make up. With `faults` None, the last `healthy` vessels stay without fault and the others get
    `faults_per_vessel` drawn faults each, the causes taken in turn from `causes`, after `baseline_days`.
    `roles`: None draws each vessel's set of instruments, "all" keeps every role, "usual" those that at least
    half of all vessels have, a tuple keeps those named. `specs` takes the place of drawn vessels. `unusual`
    vessels run as few do (unusual.py)."""

    seed: int = 0
    name: str = "Made-up works"
    vessels: int = 13
    healthy: int = 2
    faults_per_vessel: int = 1
    faults: tuple[PlannedFault, ...] | None = None
    causes: tuple[str, ...] = CAUSES
    days: int = 730
    step_minutes: int = 10
    start: str = "2023-01-01"
    baseline_days: int = 180
    sites: int = 1
    timezone: str = "Europe/Oslo"
    roles: tuple[str, ...] | str | None = None
    bad_values: bool = True
    specs: tuple[VesselSpec, ...] | None = None
    unusual: bool = False
    forms: tuple[str, ...] = ()


@dataclass(frozen=True)
class Label:
    """The truth about one fault: times in UTC, `full` when it has grown up, `ended` None if not repaired."""

    vessel: str
    cause: str
    role: str | None
    onset: pd.Timestamp
    full: pd.Timestamp
    ended: pd.Timestamp | None
    shape: str
    size: float
    unit: str


@dataclass(frozen=True)
class Simulated:
    """One vessel: `readings` has a UTC index and a column a recorded role, in Pa absolute, °C, kg/s,
    fractions of one and ug/kg (ppb), NaN where the historian has no good value. Gauge transmitters are turned
    to absolute with the recorded barometer, or else the site's usual one, as a reader of exports would."""

    spec: VesselSpec
    readings: pd.DataFrame
    labels: tuple[Label, ...]


@dataclass(frozen=True)
class _Vessel:
    number: int
    spec: VesselSpec
    roles: tuple[str, ...]
    faults: tuple[Fault, ...]


# what each generator is for: the second number of its spawn key
_SIZES, _COURSE, _ROLES, _FAULTS, _SENSORS, _HISTORIAN, _SITE, _ORDER = range(8)


def generator(seed: int, number: int, purpose: int) -> np.random.Generator:
    return np.random.default_rng(np.random.SeedSequence(seed, spawn_key=(number, purpose)))


def times(plan: FleetPlan) -> pd.DatetimeIndex:
    """The steps of the plan in UTC."""
    return pd.date_range(
        pd.Timestamp(plan.start, tz="UTC"),
        periods=plan.days * 24 * 60 // plan.step_minutes,
        freq=pd.Timedelta(minutes=plan.step_minutes),
    )


def simulate(plan: FleetPlan, hourly: bool = False) -> list[Simulated]:
    """Every vessel of the plan; `hourly` gives hourly medians instead of native readings. The same plan gives
    the same numbers."""
    return list(simulate_each(plan, hourly))


def simulate_each(plan: FleetPlan, hourly: bool = False) -> Iterator[Simulated]:
    """As `simulate`, one vessel at a time, so that a large fleet needs little memory."""
    index = times(plan)
    clock = Clock.of(index, plan.timezone)
    vessels = _vessels(plan)
    sites = {
        site: draw_site(generator(plan.seed, site, _SITE), clock, site_barometer(plan.seed, site))
        for site in sorted({v.spec.site for v in vessels})
    }
    at_once = max(1, CELLS_AT_ONCE // len(index))
    for first in range(0, len(vessels), at_once):
        yield from _together(plan, vessels[first : first + at_once], sites, clock, index, hourly)


def site_barometer(seed: int, site: int) -> float:
    """Usual barometer [Pa] of a site: most lie low, some high (0 to 900 m)."""
    return float(101325.0 - 11.6 * generator(seed, site, _ORDER).exponential(180.0) % 900.0)


def drawn_specs(plan: FleetPlan) -> list[VesselSpec]:
    """The plan's vessels as drawn, before they are tuned to their targets."""
    return [
        draw_vessel(
            generator(plan.seed, k, _SIZES),
            f"DA-{k + 1}",
            k % plan.sites,
            site_barometer(plan.seed, k % plan.sites),
        )
        for k in range(plan.vessels)
    ]


def _vessels(plan: FleetPlan) -> list[_Vessel]:
    specs = list(plan.specs) if plan.specs is not None else tuned(drawn_specs(plan))
    if plan.unusual:
        specs = [unusual(spec, k) for k, spec in enumerate(specs)]
    order = (
        generator(plan.seed, 0, _FAULTS).permutation(len(plan.causes)) if plan.causes else np.array([], int)
    )
    vessels = []
    for k, spec in enumerate(specs):
        exists = possible_roles(spec)
        if plan.roles is None:
            roles = draw_roles(generator(plan.seed, k, _ROLES), spec)
        elif plan.roles == "all":
            roles = exists
        elif plan.roles == "usual":
            roles = tuple(r for r in exists if INSTRUMENTS[r].recorded >= USUAL)
        else:
            roles = tuple(r for r in plan.roles if r in exists)
        if plan.faults is not None:
            faults = tuple(p.fault for p in plan.faults if p.vessel == k)
        elif k >= len(specs) - plan.healthy:
            faults = ()
        else:
            rng = generator(plan.seed, k + 1, _FAULTS)
            chosen = [
                plan.causes[order[(k * plan.faults_per_vessel + j) % len(order)]]
                for j in range(plan.faults_per_vessel)
            ]
            first, last = plan.baseline_days + CALM_DAYS, plan.days - SEEN_DAYS
            faults = tuple(draw_fault(rng, cause, spec, roles, first, max(last, first)) for cause in chosen)
        vessels.append(_Vessel(k, spec, roles, faults))
    return vessels


def _together(
    plan: FleetPlan,
    vessels: list[_Vessel],
    sites: dict[int, Site],
    clock: Clock,
    index: pd.DatetimeIndex,
    hourly: bool,
) -> Iterator[Simulated]:
    n = len(clock)
    courses: list[Course] = []
    healths: list[dict[str, Array]] = []
    drivers = {f.name: np.empty((n, len(vessels))) for f in fields(Drivers)}
    for column, vessel in enumerate(vessels):
        site = sites[vessel.spec.site]
        course = draw_course(generator(plan.seed, vessel.number, _COURSE), vessel.spec, site, clock)
        health, driving = healthy(vessel.spec, n), dict(vars(course))
        for fault in vessel.faults:
            apply_fault(fault, vessel.spec, clock, health, driving)
        course = replace(course, **driving)
        courses.append(course)
        healths.append(health)
        around = {"ambient": site.ambient, "exposure": site.exposure, "barometer": site.barometer}
        for name, values in (driving | derived(course) | health | around).items():
            if name in drivers:
                drivers[name][:, column] = values
    states = run(Sizes.stack([v.spec for v in vessels]), Drivers(**drivers), clock.step_minutes)
    del drivers
    for column, vessel in enumerate(vessels):
        site = sites[vessel.spec.site]
        true = true_readings(
            vessel.spec, clock, courses[column], healths[column], site.ambient, site.barometer, states, column
        )
        frame = _readings(plan, vessel, true, clock, index)
        yield Simulated(
            vessel.spec,
            hourly_frames(frame)[0] if hourly else frame,
            tuple(_label(vessel.spec.id, fault, index) for fault in vessel.faults),
        )


def _readings(
    plan: FleetPlan, vessel: _Vessel, true: dict[str, Array], clock: Clock, index: pd.DatetimeIndex
) -> pd.DataFrame:
    # every role has its own generator, so a vessel's readings do not depend on which others are recorded
    seeds = {
        role: np.random.SeedSequence(plan.seed, spawn_key=(vessel.number, _SENSORS, k))
        for k, role in enumerate(true)
    }
    shown: dict[str, Array] = {}
    for role in vessel.roles:
        gauge = vessel.spec.gauge_transmitters and role in ("shell_pressure", "steam_pressure")
        value = true[role] - true["barometric_pressure"] if gauge else true[role]
        rng, usual = np.random.default_rng(seeds[role]), _usual(vessel.spec, role)
        reading = measured(rng, role, value, clock, usual, vessel.spec.restless)
        for fault in vessel.faults:
            if fault.role == role:
                reading = with_sensor_fault(reading, fault, clock)
        shown[role] = quantised(role, reading)
    if plan.bad_values:
        shown = kept(generator(plan.seed, vessel.number, _HISTORIAN), shown, clock)
    if vessel.spec.gauge_transmitters:
        assumed = assumed_barometer(vessel.spec, pd.DataFrame(shown))
        for role in ("shell_pressure", "steam_pressure"):
            if role in shown:
                shown[role] = shown[role] + assumed
    return pd.DataFrame(shown, index=index)


def assumed_barometer(spec: VesselSpec, readings: pd.DataFrame) -> Array:
    """The barometer [Pa] that a reader of the exports can know: recorded, else the site's usual one."""
    if "barometric_pressure" not in readings:
        return np.full(len(readings), spec.barometer)
    return readings["barometric_pressure"].fillna(spec.barometer).to_numpy(dtype=np.float64)


def _usual(spec: VesselSpec, role: str) -> float:
    """A usual reading of a role whose instrument has a zero error."""
    flows = {
        "steam_flow": 0.1 * spec.rated,
        "vent_flow": spec.vent_design,
        "spray_differential": spec.spray_crack + spec.spray_rise,
        "drain_flow": spec.drain_share * spec.rated,
        "makeup_flow": spec.makeup_share * spec.rated,
        "outlet_oxygen": spec.target_oxygen,
        "scavenger_flow": 2e-7 * spec.rated,
    }
    return flows.get(role, spec.rated)


def _label(vessel: str, fault: Fault, index: pd.DatetimeIndex) -> Label:
    def at(day: float) -> pd.Timestamp:
        return (index[0] + pd.Timedelta(days=day)).round("min")

    repaired = fault.ended is not None and at(fault.ended) <= index[-1]
    return Label(
        vessel=vessel,
        cause=fault.cause,
        role=fault.role,
        onset=at(fault.onset),
        full=at(fault.full),
        ended=at(fault.ended) if fault.ended is not None and repaired else None,
        shape=fault.shape,
        size=fault.size,
        unit=fault.unit,
    )
