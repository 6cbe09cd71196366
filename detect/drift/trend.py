"""Is there a trend, and how steep? Theil-Sen's slope and the Mann-Kendall test, told of autocorrelation and
ties.

Sources: Sen (1968), Journal of the American Statistical Association 63, 1379; Mann (1945), Econometrica 13,
245; Hamed and Rao (1998), Journal of Hydrology 204, 182. A step is reported as a trend by both: ask `change`
for the shape.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr, ndtri
from scipy.stats import rankdata

Array = npt.NDArray[np.float64]

_STRONGEST = 0.98  # a stronger memory can't be told from a trend


@dataclass(frozen=True)
class Trend:
    """`slope` [unit of y a row] with its 90 % interval `low` to `high`; Mann-Kendall's `score` S, its
    `variance` for independent data, ties counted, the `inflation` of that variance by autocorrelation [1],
    the normal deviate `z` and the two-sided probability `p` of one so large without a trend."""

    slope: float
    low: float
    high: float
    score: float
    variance: float
    inflation: float
    z: float
    p: float


def fit(y: Array) -> Trend:
    """Trend of an evenly spaced series y (n,), NaN where not observed; at least 4 observed, else ValueError.
    Time and memory grow with n squared: meant for days, not hours."""
    rows = np.flatnonzero(~np.isnan(y))
    values = y[rows]
    n = len(rows)
    if n < 4:
        raise ValueError(f"a trend needs at least 4 observations, not {n}")
    earlier, later = np.triu_indices(n, 1)
    rise = values[later] - values[earlier]
    score = float(np.sum(np.sign(rise)))
    slopes = np.sort(rise / (rows[later] - rows[earlier]))
    slope = float(np.median(slopes))

    variance = _variance(values)
    detrended = np.full(len(y), np.nan)
    detrended[rows] = rankdata(values - slope * rows)
    # each lag's correlation follows from the first, so a season's distant lags can't shrink the variance
    memory = memory_of(detrended) ** np.arange(1, n)
    inflation = hamed_rao(6.0 / np.pi * np.arcsin(memory / 2.0), n)
    spread = np.sqrt(variance * inflation)
    z = float((score - np.sign(score)) / spread) if spread > 0 else 0.0
    # S is uncertain by so much, and the interval's bounds lie as many ranks from the middle slope (Sen 1968)
    margin = ndtri(0.95) * spread
    low, high = np.clip([(len(slopes) - margin) / 2.0, (len(slopes) + margin) / 2.0 + 1.0], 1, len(slopes))
    return Trend(
        slope=slope,
        low=float(slopes[round(low) - 1]),
        high=float(slopes[round(high) - 1]),
        score=score,
        variance=variance,
        inflation=inflation,
        z=z,
        p=float(2.0 * ndtr(-abs(z))),
    )


def hamed_rao(autocorrelations: npt.ArrayLike, n: int) -> float:
    """Factor by which autocorrelation of the ranks, at lags 1, 2, ..., multiplies the variance of S for n
    values (Hamed and Rao 1998)."""
    r = np.asarray(autocorrelations, dtype=np.float64)
    left = n - np.arange(1, len(r) + 1)
    return float(1.0 + 2.0 / (n * (n - 1) * (n - 2)) * np.sum(left * (left - 1) * (left - 2) * r))


def memory_of(ranks: Array) -> float:
    """Correlation of one day with the next in [0, 1), from the ranks of a detrended series (n,), NaN where
    missing.

    The ranks' correlation r becomes the values' by 2 sin(pi r / 6), as for normal data; a fitted trend and
    the shortness of the series make that too small by (2 + 4 phi) / n (Marriott and Pope, 1954, Biometrika
    41; from memory), which is put back.
    """
    deviation = ranks - np.nanmean(ranks)
    pairs = deviation[1:] * deviation[:-1]
    if np.all(np.isnan(pairs)) or not np.any(deviation > 0):
        return 0.0
    n = np.count_nonzero(~np.isnan(ranks))
    raw = 2.0 * np.sin(np.pi / 6.0 * np.nanmean(pairs) / np.nanmean(deviation**2))
    return float(np.clip((n * raw + 2.0) / max(n - 4, 1), 0.0, _STRONGEST))


def _variance(values: Array) -> float:
    """Of S for independent data: n(n-1)(2n+5)/18 less the same of each group of ties (Kendall 1975)."""
    ties = np.unique(values, return_counts=True)[1].astype(np.float64)
    n = float(len(values))
    return float((n * (n - 1) * (2 * n + 5) - np.sum(ties * (ties - 1) * (2 * ties + 5))) / 18.0)
