"""EWMA charts on raw tags, each less its harmonic season."""

import pandas as pd

from benchmarks.quality.rivals import daily


def alarms(hours: pd.DataFrame, until: pd.Timestamp) -> pd.Series:
    """The furthest EWMA."""
    return daily.furthest(daily.smoothed(daily.regressed(daily.daily_means(hours), until)))
