"""What happens to a healthy vessel: load, weather, season, water, steam main, outages, set-points.

Every vessel and every site has random generators of its own, one for each purpose, so that a vessel is the
same whatever else is in its fleet, and putting a fault into it changes no other number.
Amplitudes and time scales are common practice from memory, no source.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy.signal import lfilter

from sevenppb.synthetic.steam import Array, air_saturated_oxygen, ln_bar, steam
from sevenppb.synthetic.vessel import (
    NITROGEN_BESIDE_OXYGEN,
    VesselSpec,
    superheated_enthalpy,
    supply_root,
)

MINUTES_A_DAY = 24 * 60
STANDING_LOAD = 1e-4  # of rated outflow in an outage: what leaks past closed valves


@dataclass(frozen=True)
class Clock:
    """The steps of a history: days since its start, day of the year, hour of the local day, weekday."""

    step_minutes: float
    day: Array
    day_of_year: Array
    hour: Array
    weekday: Array

    @staticmethod
    def of(times: pd.DatetimeIndex, timezone: str) -> "Clock":
        """Of evenly spaced UTC times; people keep the hours of `timezone`, daylight saving included."""
        local = times.tz_convert(timezone)
        minutes = (times[1] - times[0]).total_seconds() / 60
        return Clock(
            step_minutes=minutes,
            day=np.arange(len(times), dtype=np.float64) * (minutes / MINUTES_A_DAY),
            day_of_year=np.asarray(local.day_of_year, dtype=np.float64) + np.asarray(local.hour) / 24,
            hour=np.asarray(local.hour + local.minute / 60, dtype=np.float64),
            weekday=np.asarray(local.day_of_week, dtype=np.float64),
        )

    def __len__(self) -> int:
        return len(self.day)


@dataclass(frozen=True)
class Site:
    """What all vessels of a site share, arrays (steps,): air °C, barometer Pa, raw water °C, factor of wind
    and rain on heat loss, and the steam main's relative deviation."""

    ambient: Array
    barometer: Array
    raw_water: Array
    exposure: Array
    main: Array


@dataclass(frozen=True)
class Course:
    """One vessel's drivers, arrays (steps,). Names and units as in plant.Drivers, and beside them what
    instruments see: the make-up's share and the temperatures [°C] of water, drains and steam."""

    outflow: Array
    makeup_share: Array
    makeup_temperature: Array
    inlet_temperature: Array
    inlet_oxygen: Array
    header_pressure: Array
    steam_temperature: Array
    set_pressure: Array
    running: Array
    drain_flow: Array
    drain_temperature: Array


def wandering(rng: np.random.Generator, steps: int, scale_steps: float) -> Array:
    """First-order autoregressive noise (steps,) of unit variance, forgetting over `scale_steps` steps.
    Slow noise is drawn at 50 points a scale and joined by lines, which nobody can tell and is much faster."""
    every = max(1, int(scale_steps / 50))
    points = steps if every == 1 else steps // every + 2
    keep = float(np.exp(-every / max(scale_steps, 1e-6)))
    driven = rng.standard_normal(points + 1)
    driven[1:] *= np.sqrt(1 - keep * keep)
    drawn = np.asarray(lfilter([1.0], [1.0, -keep], driven)[1:])
    return drawn if every == 1 else np.interp(np.arange(steps), np.arange(points) * every, drawn)


def draw_site(rng: np.random.Generator, clock: Clock, barometer: float) -> Site:
    """Weather over a site whose usual barometer is `barometer` [Pa]."""
    n, per_day = len(clock), MINUTES_A_DAY / clock.step_minutes
    season = -np.cos(2 * np.pi * (clock.day_of_year - 20) / 365.25)
    daily = -np.cos(2 * np.pi * (clock.hour - 3) / 24)
    mean, swing = rng.uniform(5.0, 14.0), rng.uniform(7.0, 12.0)
    weather = rng.uniform(2.5, 4.0) * wandering(rng, n, 3 * per_day)
    ambient = mean + swing * season + rng.uniform(2.0, 5.0) * daily * (1 + 0.3 * season) + weather
    stormy = 1 - 0.35 * season
    pressure = barometer + rng.uniform(600.0, 1000.0) * stormy * wandering(rng, n, 2.5 * per_day)
    # water mains follow the year a month late and much damped
    late = -np.cos(2 * np.pi * (clock.day_of_year - 50) / 365.25)
    raw = mean + 2.0 + 0.5 * swing * late + 0.6 * wandering(rng, n, 10 * per_day)
    rain = np.maximum(wandering(rng, n, 0.7 * per_day) - 0.8, 0)
    wind = np.exp(0.12 * wandering(rng, n, 0.5 * per_day))
    return Site(
        ambient=ambient,
        barometer=pressure,
        raw_water=np.maximum(raw, 2.0),
        exposure=np.asarray(wind * (1 + 0.25 * rain)),
        main=np.asarray(0.012 * wandering(rng, n, 0.4 * per_day) + 0.01 * wandering(rng, n, 8 * per_day)),
    )


def draw_course(rng: np.random.Generator, spec: VesselSpec, site: Site, clock: Clock) -> Course:
    """One vessel's healthy history."""
    n, per_day = len(clock), MINUTES_A_DAY / clock.step_minutes
    running, standing = _outages(rng, clock)
    load = _load(rng, spec, site, clock) * standing
    outflow = spec.rated * np.maximum(load, STANDING_LOAD)

    # make-up: blowdown and losses follow no load, so its share grows when load is low
    share = spec.makeup_share * np.exp(
        0.12 * wandering(rng, n, 2 * per_day) + 0.10 * wandering(rng, n, 20 * per_day)
    )
    if spec.makeup_share < 0.9:
        share = np.minimum(
            share * np.maximum(load, 0.2) ** -0.3 + _campaigns(rng, clock, 3.0, 0.12, 4.0), 1.0
        )
    else:
        share = np.ones(n)
    makeup = site.raw_water + spec.makeup_warmed * (1 + 0.06 * wandering(rng, n, 1.0 * per_day))
    condensate = (
        spec.condensate_temperature
        + _lasting(rng, clock, 0.4, 1.5)
        + 3.0 * (load - 0.75)
        + 0.08 * (site.ambient - 10)
        + 1.2 * wandering(rng, n, 0.3 * per_day)
        + 0.8 * wandering(rng, n, 12 * per_day)
    )
    inlet = share * makeup + (1 - share) * condensate
    inlet = np.where(running > 0, inlet, np.maximum(inlet - 20.0, site.ambient))

    # make-up brings what air-saturated raw water holds; condensate what its receiver lets in
    saturated = air_saturated_oxygen(site.raw_water, site.barometer)
    makeup_oxygen = saturated * np.clip(0.93 + 0.03 * wandering(rng, n, 6 * per_day), 0.7, 1.02)
    own = spec.condensate_oxygen * np.exp(
        0.18 * wandering(rng, n, 0.5 * per_day) + 0.12 * wandering(rng, n, 15 * per_day)
    )
    own = own * (1 + _campaigns(rng, clock, 8.0, 0.8, 0.3)) * np.maximum(load, 0.15) ** -0.25
    oxygen = share * makeup_oxygen + (1 - share) * own

    # the set-point is seldom moved, and in some plants slides with the load
    gauge = spec.gauge * (1 + np.clip(_lasting(rng, clock, spec.set_points, 0.03), -0.15, 0.15))
    gauge = gauge * (1 + spec.sliding * (np.minimum(load, 1) - 0.8))
    hunting = 0.003 * wandering(rng, n, 12 / clock.step_minutes)
    set_pressure = site.barometer + gauge * (1 + hunting)
    sag = 1 - 0.03 * (load - 0.75)
    header = (
        spec.header
        * sag
        * (1 + _lasting(rng, clock, 0.3, 0.04) + site.main + 0.008 * wandering(rng, n, 1.0 * per_day))
    )
    header = np.maximum(header, 1.12 * (spec.barometer + spec.gauge))
    superheat = spec.superheat * np.clip(1 + 0.1 * wandering(rng, n, 0.8 * per_day), 0.2, 2.0)
    s = steam()
    at_shell = s.saturation(ln_bar(spec.barometer + gauge))
    drain_flow = spec.drain_share * outflow * np.clip(1 + 0.1 * wandering(rng, n, 0.2 * per_day), 0.3, 1.7)
    return Course(
        outflow=np.asarray(outflow),
        makeup_share=np.asarray(share),
        makeup_temperature=np.asarray(makeup),
        inlet_temperature=np.clip(inlet, 2.0, at_shell - 6.0),
        inlet_oxygen=np.asarray(oxygen),
        header_pressure=np.asarray(header),
        steam_temperature=np.asarray(s.saturation(ln_bar(header)) + superheat),
        set_pressure=np.asarray(set_pressure),
        running=running,
        drain_flow=np.asarray(drain_flow),
        drain_temperature=np.asarray(
            at_shell + spec.drain_above * np.clip(1 + 0.1 * wandering(rng, n, 0.5 * per_day), 0.2, 2.0)
        ),
    )


def derived(course: Course) -> dict[str, Array]:
    """Drivers that follow from a course: enthalpies [kJ/kg], the steam main's sqrt(P rho), dissolved N2."""
    s = steam()
    superheat = course.steam_temperature - s.saturation(ln_bar(course.header_pressure))
    return {
        "inlet_enthalpy": np.asarray(s.enthalpy(course.inlet_temperature)),
        "inlet_nitrogen": NITROGEN_BESIDE_OXYGEN * course.inlet_oxygen,
        "header_root": supply_root(course.header_pressure, superheat),
        "steam_enthalpy": superheated_enthalpy(course.header_pressure, superheat),
        "drain_enthalpy": np.asarray(s.enthalpy(np.minimum(course.drain_temperature, 199.0))),
    }


def _load(rng: np.random.Generator, spec: VesselSpec, site: Site, clock: Clock) -> Array:
    n, per_day = len(clock), MINUTES_A_DAY / clock.step_minutes
    quick = 0.025 * wandering(rng, n, 0.15 * per_day)
    slow = 0.04 * wandering(rng, n, 6 * per_day)
    peak = rng.uniform(5.0, 9.0)
    double = np.cos(2 * np.pi * (clock.hour - peak) / 12) * 0.4 + np.cos(
        2 * np.pi * (clock.hour - peak - 5) / 24
    )
    if spec.rhythm == "heating":
        degrees = np.clip(17.0 - site.ambient, 0, None)
        load = 0.34 + 0.024 * degrees + rng.uniform(0.02, 0.05) * double
    elif spec.rhythm == "process":
        weekend = np.where(clock.weekday >= 5, rng.uniform(0.05, 0.25), 0.0)
        day = rng.uniform(0.03, 0.08) * double
        load = rng.uniform(0.68, 0.85) - weekend + day - 0.003 * (site.ambient - 10)
    elif spec.rhythm == "shifts":
        at_work = (clock.weekday < 5) & (clock.hour >= 6) & (clock.hour < 22)
        load = np.where(at_work, rng.uniform(0.75, 0.95) + 0.05 * double, rng.uniform(0.25, 0.4))
    elif spec.rhythm == "batches":
        load = _held(rng, clock, rng.uniform(0.1, 0.3), (0.45, 0.95))
    elif spec.rhythm == "levels":
        load = _held(rng, clock, rng.uniform(1.0, 4.0), (0.4, 0.7, 1.0))
    else:
        load = rng.uniform(0.75, 0.92) + 0.015 * double
    spells = _campaigns(rng, clock, 4.0, 0.1, 12.0) * rng.choice([-1.0, 1.0])
    # a soft floor: pumps and turbines are not run below some load
    wanted = (load + quick + slow + spells - 0.3) / 0.05
    return np.asarray(np.minimum(0.3 + 0.05 * np.logaddexp(0, wanted), 1.08))


def _held(rng: np.random.Generator, clock: Clock, days: float, levels: tuple[float, ...]) -> Array:
    """Load that stays at one of some levels for a while, exponential with a mean of so many days, then goes to
    another."""
    span = float(clock.day[-1])
    starts = np.cumsum(rng.exponential(days, int(3 * span / days) + 10))
    picked = np.cumsum(rng.integers(1, len(levels), len(starts) + 1)) % len(levels)
    return np.asarray(np.array(levels)[picked][np.searchsorted(starts, clock.day)])


def _campaigns(rng: np.random.Generator, clock: Clock, per_year: float, size: float, days: float) -> Array:
    """Spells of something extra: some a year, exponential in length and size."""
    extra = np.zeros(len(clock))
    span = float(clock.day[-1])
    for start in np.sort(rng.uniform(0, span, rng.poisson(per_year * span / 365.25))):
        inside = (clock.day >= start) & (clock.day < start + rng.exponential(days))
        extra[inside] += min(rng.exponential(size), 3 * size)
    return extra


def _lasting(rng: np.random.Generator, clock: Clock, per_year: float, size: float) -> Array:
    """Changes that stay (a new consumer, a new setting): some a year, normal in size, adding up."""
    change = np.zeros(len(clock))
    span = float(clock.day[-1])
    for start in rng.uniform(0, span, rng.poisson(per_year * span / 365.25)):
        change[clock.day >= start] += rng.normal(0, size)
    return change


def _outages(rng: np.random.Generator, clock: Clock) -> tuple[Array, Array]:
    """Steam on (1) or off (0), and the share of the load (0 to 1) with ramps before and after each outage."""
    on, share = np.ones(len(clock)), np.ones(len(clock))
    span = float(clock.day[-1])
    for start in np.sort(rng.uniform(0, span, rng.poisson(3.0 * span / 365.25))):
        length = float(np.clip(rng.lognormal(0.2, 1.3), 0.15, 14.0))
        down, up = rng.uniform(0.02, 0.1), rng.uniform(0.08, 0.4)
        hot = rng.random() < 0.3  # steam is kept on and the vessel stands hot
        since, until = clock.day - start, clock.day - (start + length)
        share = np.minimum(share, np.clip(np.maximum(-since / down, until / up), 0, 1))
        if not hot:
            # steam comes back a little before water
            on[(since >= 0) & (until < -0.04)] = 0.0
    return on, np.asarray(share)
