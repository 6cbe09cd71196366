"""EWMA charts on what is left of each tag after a regression on load, conditions and season."""

import pandas as pd

from benchmarks.quality.rivals import daily


def alarms(hours: pd.DataFrame, until: pd.Timestamp) -> pd.Series:
    """The furthest EWMA."""
    return daily.furthest(daily.smoothed(daily.load_corrected(hours, until)))
