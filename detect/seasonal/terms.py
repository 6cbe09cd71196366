"""What the balance may leave over: operating point, hour of day, day of week and time of year as columns."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from sklearn.preprocessing import SplineTransformer

from sevenppb.detect.balance.model import Conditions
from sevenppb.detect.physics import steam

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Driver:
    """A condition that terms are made of. `smallest` is the least width of its scale, a usual range of operation: the
    balance errs by so much a degree or per cent, however still the baseline was, else a drift of a condition's own
    reading would explain itself. `roles` are readings that it explains nothing about: those that it is made of, and
    storage temperature, for subcooling is made of the shell's pressure too; `only`, the one reading that it can move,
    where that is so."""

    name: str
    smallest: float
    roles: tuple[str, ...] = ()
    only: str = ""

    def explains(self, role: str) -> bool:
        """Whether it can explain a move of this reading."""
        return role == self.only if self.only else role not in self.roles


@dataclass(frozen=True)
class Terms:
    """Columns (hours × terms) with their names, what each is made of (None: the calendar), and each column's prior
    standard deviation as a share of the feature's natural move. The constant has no prior."""

    names: tuple[str, ...]
    drivers: tuple[Driver | None, ...]
    columns: Array
    prior: Array


CONSTANT = np.inf
LOAD, APPROACH = Driver("load", 0.1), Driver("approach", 5.0)
SUPPLY = Driver("supply pressure", 0.1, roles=("steam_pressure", "storage_temperature"))
SHELL = Driver("shell pressure", 0.1, roles=("storage_temperature",))
INLET_OXYGEN = Driver("inlet oxygen", 0.3, roles=("inlet_oxygen",))
VENT_VALVE, BAROMETER = Driver("vent valve", 0.2), Driver("barometer", 1.0)
DOSE = Driver("scavenger dose", 0.3, only="outlet_oxygen")  # its sample may be taken behind the feed
ESSENTIAL = (LOAD, APPROACH)  # hours without them can't be judged; without the others they count as usual
OPERATING = 1.0  # the balance may be off by this share of a natural move over the baseline's range
BEYOND = 0.5  # beyond what the baseline saw, per standard deviation: unknown until such days have been seen
RHYTHM = 0.3  # so may the day and the week
YEARLY = 0.25  # so may the year: its terms are what a slow drift hides in, so the prior is tight and stated
YEARLY_TERMS = tuple(f"year {wave} {k}" for k in (1, 2) for wave in ("cos", "sin"))
YEARLY_PRIOR = tuple(YEARLY / k for k in (1, 2) for _ in ("cos", "sin"))


def terms_of(index: pd.DatetimeIndex, at: Conditions, baseline: NDArray[np.bool_]) -> Terms:
    """Terms per hour. Splines and scales are set by the steady baseline hours `baseline` alone."""
    load = np.log(at.flow)
    saturation = steam.saturation_temperature(at.shell_pressure)
    supply = np.log(at.steam_pressure / at.shell_pressure)
    names, columns, prior = ["constant"], [np.ones(len(index))], [CONSTANT]
    drivers: list[Driver | None] = [None]

    def add(name: str, values: Array, sd: float, driver: Driver | None = None) -> None:
        names.append(name)
        columns.append(values)
        prior.append(sd)
        drivers.append(driver)

    for driver, values in (
        (LOAD, load),
        (APPROACH, saturation - at.inlet_temperature),
        (SUPPLY, supply),
        (SHELL, np.log(at.shell_pressure)),
        (INLET_OXYGEN, np.log(np.maximum(at.inlet_oxygen, 1.0))),
        (VENT_VALVE, np.log(at.vent_valve)),
        (BAROMETER, at.barometer / 1000.0),
        (DOSE, np.log(np.maximum(at.scavenger_dose, 1e-10))),
    ):
        inside = values[baseline]
        if np.isnan(inside).all() or np.nanstd(inside) < 1e-9:
            continue
        if driver == APPROACH and np.nanstd(at.inlet_temperature[baseline]) < 1e-9:
            continue  # without the water's temperature it is nothing but the shell's pressure
        centre, width = float(np.nanmedian(inside)), max(float(np.nanstd(inside)), driver.smallest)
        scaled = (values - centre) / width
        if driver not in ESSENTIAL:
            scaled = np.nan_to_num(scaled)
        add(driver.name, scaled, OPERATING, driver)
        for side in (1.0, -1.0):
            edge = float(np.nanquantile(side * scaled[baseline], 0.98))
            add(
                f"{driver.name} beyond {'above' if side > 0 else 'below'}",
                np.maximum(side * scaled - edge, 0.0),
                BEYOND,
                driver,
            )
        if driver == LOAD:
            for i, bend in enumerate(_bends(scaled, baseline)):
                add(f"load bend {i + 1}", bend, OPERATING, LOAD)
            add(
                "load × approach",
                columns[1] * _standard(saturation - at.inlet_temperature, baseline, APPROACH.smallest),
                OPERATING,
                LOAD,
            )
    hours = np.asarray(index.hour, dtype=float)
    for k in (1, 2):
        add(f"day cos {k}", np.cos(2 * np.pi * k * hours / 24), RHYTHM)
        add(f"day sin {k}", np.sin(2 * np.pi * k * hours / 24), RHYTHM)
    add("weekend", (np.asarray(index.day_of_week) >= 5).astype(float) - 2 / 7, RHYTHM)
    year = 2 * np.pi * np.asarray(index.day_of_year, dtype=float) / 365.25
    waves = [wave(k * year) for k in (1, 2) for wave in (np.cos, np.sin)]
    for name, values, sd in zip(YEARLY_TERMS, waves, YEARLY_PRIOR, strict=True):
        add(name, values, sd)
    return Terms(tuple(names), tuple(drivers), np.column_stack(columns), np.array(prior))


def _standard(values: Array, baseline: NDArray[np.bool_], smallest: float) -> Array:
    inside = values[baseline]
    return (values - np.nanmedian(inside)) / max(float(np.nanstd(inside)), smallest)


def _bends(load: Array, baseline: NDArray[np.bool_]) -> list[Array]:
    """Curvature in load: cubic splines with knots at the baseline's quartiles, straight beyond its range."""
    inside = load[baseline & ~np.isnan(load)]
    knots = np.unique(np.quantile(inside, [0.02, 0.35, 0.65, 0.98]))
    if len(knots) < 3 or np.ptp(knots) < 0.2:
        return []
    spline = SplineTransformer(knots=knots[:, None], degree=3, extrapolation="linear", include_bias=False)
    basis = spline.fit(inside[:, None]).transform(np.nan_to_num(load)[:, None])
    # Only what a straight line can't say is curvature.
    line = np.column_stack([np.ones(len(load)), np.nan_to_num(load)])
    within = np.flatnonzero(baseline & ~np.isnan(load))
    fit, *_ = np.linalg.lstsq(line[within], basis[within], rcond=None)
    rest = basis - line @ fit
    *_, vt = np.linalg.svd(rest[within], full_matrices=False)
    keep = vt[:2].T  # the two largest shapes of curvature
    bends = rest @ keep
    bends[np.isnan(load)] = np.nan
    return [b / max(float(np.std(b[within])), 1e-9) for b in bends.T]
