"""The rivals by name. Their libraries are no part of sevenppb: `pip install -e ".[bench]"` brings them."""

from importlib import import_module

import pandas as pd

from benchmarks.quality.rivals import daily
from benchmarks.quality.stopwatch import Stopwatch
from sevenppb.detect.fleet import Vessel
from sevenppb.detect.quality.readings import Readings

RIVALS = {
    "EWMA on regressions on load and season": "ewma_regressions",
    "EWMA on raw tags with harmonic season": "ewma_season",
    "Shewhart chart": "shewhart",
    "principal components, T² and SPE (scikit-learn)": "principal_components",
    "isolation forest (scikit-learn)": "isolation_forest",
    "ECOD (pyod)": "ecod",
    "matrix profile (stumpy)": "matrix_profile",
    "change points (ruptures)": "change_points",
    "the first EWMA, limits from run-length theory": "ewma_textbook",
    "always on": "always_on",
}
FIXED = {"ewma_textbook": 1.0, "always_on": 1.0}  # limits that are not set on healthy plants


def scores(
    vessel: Vessel,
    readings: Readings,
    until: pd.Timestamp,
    watch: Stopwatch,
    names: tuple[str, ...] = tuple(RIVALS),
) -> dict[str, pd.Series]:
    """What each rival makes of a vessel's steady hours, with the days before `until` for a baseline: a score
    a day. The watch gets each one's seconds."""
    hours = daily.running_hours(vessel, readings)
    out = {}
    for name in names:
        module = import_module(f"benchmarks.quality.rivals.{RIVALS[name]}")
        out[name] = module.alarms(hours, until)
        watch.lap(name)
    return out
