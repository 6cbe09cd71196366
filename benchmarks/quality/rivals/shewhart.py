"""A Shewhart chart on every tag's daily mean."""

import pandas as pd

from benchmarks.quality.rivals import daily


def alarms(hours: pd.DataFrame, until: pd.Timestamp) -> pd.Series:
    """The largest distance from a baseline mean, in baseline standard deviations."""
    return daily.furthest(daily.standardised(daily.daily_means(hours), until))
