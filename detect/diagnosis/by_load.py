"""Courses of a change that shows only above some load, and more the further above: trays hold water up there, and a
supply has no more steam to give."""

import numpy as np
from numpy.typing import NDArray

from sevenppb.detect.expected import Days

Array = NDArray[np.float64]

FROM = (0.3, 0.6, 0.85)  # shares of days with less load than that from which on it shows
EVERY = 3  # onsets: the load says more of when it shows than the day it began


def gated(days: Days, courses: Array, rows: slice) -> Array:
    """Each of the courses [n, C] as it would show above each load, those of the days `rows` [n, C × loads]; none where
    the load doesn't move."""
    flow = np.nan_to_num(days.at.flow, nan=0.0)
    ran = flow[rows][flow[rows] > 0.0]
    starts = np.quantile(ran, FROM) if len(ran) else np.empty(0)
    above = (np.maximum(flow - start, 0.0) for start in starts if start < ran.max())
    return np.hstack([courses[:, :0], *(courses * (part / part.max())[:, None] for part in above)])
