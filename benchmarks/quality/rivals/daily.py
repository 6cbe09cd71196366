"""What every rival starts from: the hours that sevenppb itself judges, as days, and what load and season
explain."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from sklearn.linear_model import RidgeCV
from sklearn.preprocessing import StandardScaler

from sevenppb.detect import features
from sevenppb.detect.fleet import Vessel
from sevenppb.detect.quality.readings import Readings
from sevenppb.detect.quality.steady import LOADS, steady_marks
from sevenppb.detect.settings import DEFAULTS

Array = NDArray[np.float64]

LEAST_HOURS = 4  # steady hours that make a day, as sevenppb has it
FILLED_DAYS = 14  # a tag's gap up to which its last value stands in, for methods that know no gaps
FOLDS = 6  # stretches of the baseline, each held out once
CONDITIONS = ("inlet_temperature", "shell_pressure", "steam_pressure", "barometric_pressure", "drain_flow")
SEASONS = (1, 2)  # harmonics of the year
WHOLE_YEAR = 300  # days of baseline below which harmonics of the year only do harm
PENALTIES = np.geomspace(1e-2, 1e4, 13)


def running_hours(vessel: Vessel, readings: Readings) -> pd.DataFrame:
    """The steady hours' readings, a column a role; roles that are never read or never move are left out."""
    hourly = readings.hourly
    barometer = features.barometer_of(hourly, vessel)
    hours = hourly[~steady_marks(hourly, barometer, DEFAULTS).any(axis=1)]
    return hours.loc[:, hours.notna().mean() > 0.3].loc[:, lambda frame: frame.std() > 0]


def daily_means(hours: pd.DataFrame) -> pd.DataFrame:
    """A row a day with enough steady hours; NaN where a tag has too few readings that day."""
    day = pd.DatetimeIndex(hours.index).floor("D")
    groups = hours.groupby(day)
    enough = groups.size() >= LEAST_HOURS
    return groups.mean().where(groups.count() >= LEAST_HOURS)[enough]


def standardised(days: pd.DataFrame, until: pd.Timestamp) -> pd.DataFrame:
    """Each column less its baseline mean, over its baseline standard deviation; columns that stand still in
    the baseline are left out."""
    baseline = days[days.index < until]
    spread = baseline.std()
    moving = spread[spread > 1e-9].index
    return (days[moving] - baseline[moving].mean()) / spread[moving]


def filled(days: pd.DataFrame, until: pd.Timestamp) -> pd.DataFrame:
    """Gaps filled for methods that know none: by the last value for a while, then by the baseline's
    median."""
    return days.ffill(limit=FILLED_DAYS).fillna(days[days.index < until].median()).dropna(axis=1)


def load_of(hours: pd.DataFrame) -> str | None:
    """The role that stands for the load."""
    return next((role for role in LOADS if role in hours), None)


def season(index: pd.DatetimeIndex, until: pd.Timestamp) -> Array:
    """The weekend, and harmonics of the year where the baseline has seen one [n, 1 or 5]."""
    weekend = (np.asarray(index.day_of_week) >= 5)[:, None]
    if (until - index[0]) < pd.Timedelta(days=WHOLE_YEAR):
        return weekend.astype(float)
    angle = 2 * np.pi * np.asarray(index.day_of_year, dtype=float) / 365.25
    waves = [wave(k * angle) for k in SEASONS for wave in (np.cos, np.sin)]
    return np.column_stack([*waves, weekend])


def regressed(days: pd.DataFrame, until: pd.Timestamp, conditions: tuple[str, ...] = ()) -> pd.DataFrame:
    """What is left of each tag after a ridge regression on season and `conditions` (first and second
    powers), in standard deviations of residuals that were held out, a stretch of the baseline at a time. The
    conditions themselves are not among the columns."""
    given = [role for role in conditions if role in days]
    centred = filled(standardised(days[given], until), until) if given else pd.DataFrame(index=days.index)
    bounded = centred.clip(-4, 4)
    first = centred.columns[:1]  # the load: with its square and its products
    products = [bounded[first].to_numpy() * bounded[[c]].to_numpy() for c in bounded]
    table = np.column_stack([season(pd.DatetimeIndex(days.index), until), centred, *products])
    rows = np.asarray(days.index < until)
    table = StandardScaler().fit(table[rows]).transform(table)
    out = {}
    for role in days.columns.difference(given):
        known = days[role].notna().to_numpy()
        use = np.flatnonzero(rows & known)
        if len(use) < 5 * FOLDS:
            continue
        value = days[role].to_numpy()
        held = np.concatenate(
            [
                value[part] - _fit(table, value, np.setdiff1d(use, part)).predict(table[part])
                for part in np.array_split(use, FOLDS)
            ]
        )
        rest = value - _fit(table, value, use).predict(table)
        out[role] = rest / max(float(np.std(held)), 1e-12)
    return pd.DataFrame(out, index=days.index)


def _fit(table: Array, value: Array, rows: NDArray[np.intp]) -> RidgeCV:
    return RidgeCV(alphas=PENALTIES).fit(table[rows], value[rows])


def load_corrected(hours: pd.DataFrame, until: pd.Timestamp) -> pd.DataFrame:
    """`regressed` on load, what else the vessel is asked to do, and season."""
    load = load_of(hours)
    conditions = CONDITIONS if load is None else (load, *CONDITIONS)
    return regressed(daily_means(hours), until, conditions)


def smoothed(score: pd.DataFrame, weight: float = 0.1) -> pd.DataFrame:
    """Exponentially weighted mean of each column, day by day; a day without a value keeps the last."""
    return score.ewm(alpha=weight, ignore_na=True).mean()


def furthest(score: pd.DataFrame) -> pd.Series:
    """The largest distance from zero over all columns, a number a day."""
    return score.abs().max(axis=1).fillna(0.0)
