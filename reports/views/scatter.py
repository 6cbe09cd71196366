"""One feature against the load, before the change and after it: finished values in display units."""

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd

from sevenppb.detect.incidents.incident import Incident, VesselScan
from sevenppb.reports import numbers, words
from sevenppb.reports.numbers import Units

LOAD = "flow"  # the daily column of the water's flow
FEWEST = 7  # days on each side for a picture that means something
MOST = 150  # dots drawn of each side


@dataclass(frozen=True)
class ScatterChart:
    """Days as (load, reading) pairs, `before` the onset's interval and `after` it."""

    title: str
    alt: str
    load_unit: str
    unit: str
    before: tuple[tuple[float, float], ...]
    after: tuple[tuple[float, float], ...]


def scatter_chart(vessel: VesselScan, incident: Incident, feature: str, units: Units) -> ScatterChart | None:
    """`feature` against the load; None where the load or either side's days are missing. Days inside the onset's
    interval belong to neither side, nor do days after the end."""
    daily = vessel.daily
    if LOAD not in daily or f"observed_{feature}" not in daily:
        return None
    shown = numbers.scale(feature, vessel.units[feature], units)
    load = numbers.scale("inlet_flow", "kg/s", units)
    both = pd.DataFrame(
        {
            "load": daily[LOAD] * load.factor + load.offset,
            "reading": daily[f"observed_{feature}"] * shown.factor + shown.offset,
        }
    ).dropna()
    first, last = incident.onset_interval
    over = both.index[-1] if incident.ended is None and len(both) else incident.ended
    before, after = both[both.index < first], both[(both.index > last) & (both.index <= over)]
    if len(before) < FEWEST or len(after) < FEWEST:
        return None
    name = words.feature(feature)
    decimals = numbers.places(feature, shown, float(both["reading"].abs().median())) + 1
    digits = numbers.decimals_for_digits(float(both["load"].median())) + 1
    return ScatterChart(
        title=f"{name[0].upper()}{name[1:]} against load, before and after",
        alt=f"Scatter of {name} at {incident.vessel} against the water's flow. "
        + _in_words(
            before, after, numbers.places(feature, shown, float(after["reading"].median())), shown, load
        ),
        load_unit=load.label,
        unit=shown.label,
        before=_thinned(before, digits, decimals),
        after=_thinned(after, digits, decimals),
    )


def _in_words(
    before: pd.DataFrame, after: pd.DataFrame, decimals: int, shown: numbers.Scale, load: numbers.Scale
) -> str:
    """Medians of both sides over the loads that both have."""
    low = float(max(before["load"].quantile(0.05), after["load"].quantile(0.05)))
    high = float(min(before["load"].quantile(0.95), after["load"].quantile(0.95)))
    medians = [side.loc[side["load"].between(low, high), "reading"].median() for side in (before, after)]
    if not all(math.isfinite(value) for value in medians):
        return "The loads before and after hardly overlap."
    one, two = (f"{numbers.number(value, decimals)} {shown.label}".rstrip() for value in medians)
    digits = numbers.decimals_for_digits(high)
    loads = f"{numbers.number(low, digits)} to {numbers.number(high, digits)} {load.label}"
    return f"At {loads}, which both have, its median was {one} before and is {two} after."


def _thinned(side: pd.DataFrame, digits: int, decimals: int) -> tuple[tuple[float, float], ...]:
    """Every n-th day by load, so that all loads stay in sight."""
    ordered = side.sort_values(["load", "reading"])
    keep = np.unique(np.linspace(0, len(ordered) - 1, min(len(ordered), MOST)).round().astype(int))
    return tuple(
        (round(float(x), digits), round(float(y), decimals)) for x, y in ordered.iloc[keep].to_numpy()
    )
