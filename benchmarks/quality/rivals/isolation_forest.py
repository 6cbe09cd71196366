"""An isolation forest on what load and season leave of the tags."""

import numpy as np
import pandas as pd
from sklearn.ensemble import IsolationForest

from benchmarks.quality.rivals import daily


def alarms(hours: pd.DataFrame, until: pd.Timestamp) -> pd.Series:
    """Its score of each smoothed day."""
    days = daily.filled(daily.smoothed(daily.load_corrected(hours, until), 0.2), until)
    baseline = np.asarray(days.index < until)
    forest = IsolationForest(n_estimators=200, random_state=0).fit(days.to_numpy()[baseline])
    return pd.Series(-forest.score_samples(days.to_numpy()), index=days.index)
