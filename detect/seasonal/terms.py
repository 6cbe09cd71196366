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
class Terms:
    """Columns (hours × terms) with their names, and each column's prior standard deviation as a share of the
    feature's natural move. The constant has no prior."""

    names: tuple[str, ...]
    columns: Array
    prior: Array


CONSTANT = np.inf
ESSENTIAL = ("load", "approach")  # hours without them can't be judged; without the others they count as usual
OPERATING = 1.0  # the balance may be off by this share of a natural move over the baseline's range
DOSE = "scavenger dose"  # moves only a sample that is taken behind the feed
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

    def add(name: str, values: Array, sd: float) -> None:
        names.append(name)
        columns.append(values)
        prior.append(sd)

    for name, values, smallest in (
        ("load", load, 0.02),
        ("approach", saturation - at.inlet_temperature, 0.5),
        ("supply pressure", supply, 0.01),
        ("shell pressure", np.log(at.shell_pressure), 0.005),
        ("inlet oxygen", np.log(np.maximum(at.inlet_oxygen, 1.0)), 0.05),
        ("vent valve", np.log(at.vent_valve), 0.05),
        ("barometer", at.barometer / 1000.0, 0.3),
        (DOSE, np.log(np.maximum(at.scavenger_dose, 1e-10)), 0.05),
    ):
        inside = values[baseline]
        if np.isnan(inside).all() or np.nanstd(inside) < 1e-9:
            continue
        centre, width = float(np.nanmedian(inside)), max(float(np.nanstd(inside)), smallest)
        scaled = (values - centre) / width
        if name not in ESSENTIAL:
            scaled = np.nan_to_num(scaled)
        add(name, scaled, OPERATING)
        for side in (1.0, -1.0):
            edge = float(np.nanquantile(side * scaled[baseline], 0.98))
            add(
                f"{name} beyond {'above' if side > 0 else 'below'}",
                np.maximum(side * scaled - edge, 0.0),
                BEYOND,
            )
        if name == "load":
            for i, bend in enumerate(_bends(scaled, baseline)):
                add(f"load bend {i + 1}", bend, OPERATING)
            add(
                "load × approach",
                columns[1] * _standard(saturation - at.inlet_temperature, baseline),
                OPERATING,
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
    return Terms(tuple(names), np.column_stack(columns), np.array(prior))


def _standard(values: Array, baseline: NDArray[np.bool_]) -> Array:
    inside = values[baseline]
    return (values - np.nanmedian(inside)) / max(float(np.nanstd(inside)), 1e-6)


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
