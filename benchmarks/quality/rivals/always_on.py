"""An alarm on every day: what a measure that only counts finds would praise."""

import pandas as pd

from benchmarks.quality.rivals import daily


def alarms(hours: pd.DataFrame, until: pd.Timestamp) -> pd.Series:
    """More than any limit, each day."""
    return pd.Series(2.0, index=daily.daily_means(hours).index)
