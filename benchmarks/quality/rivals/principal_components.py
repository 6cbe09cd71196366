"""Principal components of what load and season leave of the tags: Hotelling's T² inside them, squared
prediction error outside."""

import numpy as np
import pandas as pd
from sklearn.decomposition import PCA

from benchmarks.quality.rivals import daily

EXPLAINED = 0.95  # of the baseline's variance


def alarms(hours: pd.DataFrame, until: pd.Timestamp) -> pd.Series:
    """The larger of both statistics over its baseline's 99 % point (as a logarithm), smoothed."""
    days = daily.filled(daily.load_corrected(hours, until), until)
    baseline = np.asarray(days.index < until)
    values = days.to_numpy()
    components = PCA(n_components=EXPLAINED).fit(values[baseline])
    within = components.transform(values)
    hotelling = (within**2 / components.explained_variance_).sum(axis=1)
    error = ((values - components.inverse_transform(within)) ** 2).sum(axis=1)
    both = np.column_stack([hotelling, error])
    ratio = np.log(both / np.quantile(both[baseline], 0.99, axis=0))
    return daily.smoothed(pd.DataFrame(ratio, index=days.index)).max(axis=1)
