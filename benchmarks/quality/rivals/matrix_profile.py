"""stumpy's matrix profile: how far is each fortnight from the most alike one of the baseline?

Level and scale are kept (`normalize=False`): a slow fault is a level that the baseline never had.
"""

import numpy as np
import pandas as pd
import stumpy

from benchmarks.quality.rivals import daily

WINDOW = 14  # days


def alarms(hours: pd.DataFrame, until: pd.Timestamp) -> pd.Series:
    """The furthest tag's distance, a day's window being the fortnight that ends on it."""
    days = daily.filled(daily.load_corrected(hours, until), until)
    known = int((days.index < until).sum())
    distance = np.zeros(days.shape)
    for k, column in enumerate(days):
        values = days[column].to_numpy(dtype=np.float64)
        inside = stumpy.stump(values[:known], WINDOW, normalize=False)[:, 0].astype(float)
        later = stumpy.stump(
            values[known - WINDOW + 1 :], WINDOW, values[:known], ignore_trivial=False, normalize=False
        )
        usual = float(np.median(inside))
        distance[WINDOW - 1 : known, k] = inside / usual
        distance[known:, k] = later[:, 0].astype(float) / usual
    return pd.Series(distance.max(axis=1), index=days.index)
