"""Vessels against each other: weekly residuals, who leaves the others and since when, and what all do together."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from sevenppb.detect.incidents.incident import VesselScan

TOGETHER = 3  # vessels from which on their median means something
APART = 2.0  # standard uncertainties of a day from the median of all that stand out
MOVED = 1.0  # standard uncertainties of a day that the median of all must move to be told
RECENT_WEEKS = 4
SHORTEST = 4  # weeks for which all must have moved


@dataclass(frozen=True)
class Apart:
    """One vessel's feature away from the median of all [standard uncertainties] in the last weeks; `since`
    is the first week of the stretch."""

    vessel: str
    feature: str
    distance: float
    since: pd.Timestamp


@dataclass(frozen=True)
class Common:
    """A stretch of weeks, first and last, in which the median of all vessels moved [standard uncertainties]."""

    feature: str
    move: float
    first: pd.Timestamp
    last: pd.Timestamp


def standard(daily: pd.DataFrame, name: str) -> "pd.Series[float]":
    """A feature's daily residual in standard uncertainties of one day."""
    found: pd.Series[float] = daily[f"residual_{name}"] / daily[f"band_{name}"]
    return found


def weekly(scanned: list[VesselScan], names: list[str]) -> dict[str, pd.DataFrame]:
    """For each feature, a column a vessel that has it, a row a week (its Monday): the median standardised residual."""
    found: dict[str, dict[str, pd.Series[float]]] = {name: {} for name in names}
    for vessel in scanned:  # outside: one that is kept in a file is read once
        for name in names:
            if f"residual_{name}" in vessel.daily:
                weeks = standard(vessel.daily, name).resample("W-MON", label="left", closed="left")
                found[name][vessel.id] = weeks.median()
    return {name: pd.DataFrame(columns) for name, columns in found.items()}


def together(weeks: pd.DataFrame) -> "pd.Series[float]":
    """The median of all vessels, where at least TOGETHER have a value."""
    found: pd.Series[float] = weeks.median(axis=1).where(weeks.notna().sum(axis=1) >= TOGETHER)
    return found


def apart(weeks: pd.DataFrame, feature: str) -> tuple[Apart, ...]:
    """The vessels that stand apart from the median of all in their last weeks: with three, the median of the other
    two would go half of the way with the one that left."""
    median = together(weeks)
    rows = []
    for vessel in weeks.columns:
        distance = (weeks[vessel] - median).dropna()
        if distance.empty:
            continue
        recent = float(distance.iloc[-RECENT_WEEKS:].median())
        if abs(recent) < APART:
            continue
        # a rolling median, so that one quiet week does not end the stretch
        smooth = distance.rolling(RECENT_WEEKS, min_periods=1).median() * np.sign(recent)
        within = np.flatnonzero((smooth < APART).to_numpy())
        start = int(within[-1]) + 1 if len(within) else 0
        # the rolling median crosses once half of its weeks have
        start = max(start - RECENT_WEEKS // 2, 0)
        rows.append(Apart(str(vessel), feature, recent, pd.DatetimeIndex(distance.index)[start]))
    return tuple(rows)


def common(weeks: pd.DataFrame, feature: str) -> tuple[Common, ...]:
    """Stretches of at least SHORTEST weeks in which the median of all stayed out on one side."""
    median = together(weeks)
    side = np.where(median.abs() >= MOVED, np.sign(median), 0.0)
    edges = np.flatnonzero(np.diff(side)) + 1
    days = pd.DatetimeIndex(weeks.index)
    rows = []
    for stretch in np.split(np.arange(len(side)), edges):
        if len(stretch) >= SHORTEST and side[stretch[0]] != 0.0:
            move = float(median.iloc[stretch].median())
            rows.append(Common(feature, move, days[stretch[0]], days[stretch[-1]]))
    return tuple(rows)
