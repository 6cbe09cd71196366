"""pyod's ECOD (empirical cumulative distributions) on what load and season leave of the tags."""

import numpy as np
import pandas as pd
from pyod.models.ecod import ECOD

from benchmarks.quality.rivals import daily


def alarms(hours: pd.DataFrame, until: pd.Timestamp) -> pd.Series:
    """Its smoothed score, in standard deviations of the baseline's."""
    days = daily.filled(daily.smoothed(daily.load_corrected(hours, until), 0.2), until)
    baseline = np.asarray(days.index < until)
    values = days.to_numpy()
    detector = ECOD().fit(values[baseline])
    # It ranks what it is asked about together with the baseline: a day at a time, so that none is judged by
    # later ones.
    later = [float(detector.decision_function(row[None, :])[0]) for row in values[~baseline]]
    score = pd.DataFrame({"score": [*detector.decision_scores_, *later]}, index=days.index)
    return daily.standardised(daily.smoothed(score, 0.2), until)["score"]
