"""Balance + seasonal terms → daily residuals with everything a test needs to know of their uncertainty."""

from dataclasses import dataclass, fields

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from sevenppb.detect.balance import fit, model
from sevenppb.detect.balance.fit import Fitted
from sevenppb.detect.balance.model import Conditions
from sevenppb.detect.drift import innovations
from sevenppb.detect.drift.innovations import Noise
from sevenppb.detect.features import WATCHED
from sevenppb.detect.seasonal import terms as seasonal
from sevenppb.detect.settings import Settings

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Days:
    """One vessel's days: n days from the first to the last with readings, without gaps, F watched features, T terms.

    index      UTC midnights [n]
    baseline   [n] bool: days that count as healthy
    features   names of the F watched features
    residual   [n, F] observed − balance on the test scale, mean over the day's steady hours; NaN where none
    terms      [n, T] seasonal terms, mean over the same hours
    prior      [F, T] prior standard deviation of each coefficient [test scale]
    weight     [n] a day's standard deviation over the usual one
    noise      per feature
    hours      [n] steady hours
    seen       daily means of the natural-scale features (watched and shown)
    balance    daily means of what the balance expects, on the test scale [n, F]
    at         conditions, daily means over the steady hours
    fitted     the healthy state
    """

    index: pd.DatetimeIndex
    baseline: NDArray[np.bool_]
    features: tuple[str, ...]
    residual: Array
    terms: Array
    term_names: tuple[str, ...]
    prior: Array
    weight: Array
    noise: tuple[Noise, ...]
    hours: Array
    seen: pd.DataFrame
    balance: Array
    at: Conditions
    fitted: Fitted

    @property
    def present(self) -> NDArray[np.bool_]:
        """[n, F]: days on which a feature can be tested."""
        return ~np.isnan(self.residual)


def daily(
    seen: pd.DataFrame,
    at: Conditions,
    steady: pd.Series,
    baseline: tuple[pd.Timestamp, pd.Timestamp],
    settings: Settings,
) -> Days:
    """Fit the balance and the seasonal terms on the baseline; residuals per day.

    seen      features per hour, natural scale (features.observed); at: conditions per hour
    steady    bool per hour, same index
    """
    index = pd.DatetimeIndex(seen.index)
    use = steady.to_numpy()
    healthy = use & np.asarray((index >= baseline[0]) & (index < baseline[1]))
    fitted = fit.fit_health(at, seen, healthy)
    off = fit.residuals(seen, model.expected(at, fitted.health))
    features = tuple(off.columns)
    columns = seasonal.terms_of(index, at, healthy)

    hourly = np.column_stack(
        [off.to_numpy(), columns.columns, seen.to_numpy(), *(getattr(at, f.name) for f in fields(Conditions))]
    )
    hourly = hourly[use]
    hourly[:, : len(features)] = _tamed(hourly[:, : len(features)], healthy[use])
    day = index.floor("D")
    days = pd.date_range(day[0], day[-1], freq="D")
    grouped = pd.DataFrame(hourly).groupby(np.asarray(day[use]))
    mean = grouped.mean().reindex(days).to_numpy()
    count = grouped.count().reindex(days).fillna(0).to_numpy()
    n_features, n_terms, n_seen = len(features), len(columns.names), seen.shape[1]
    residual = mean[:, :n_features]
    terms = mean[:, n_features : n_features + n_terms]
    enough = (count[:, :n_features] >= settings.min_hours_per_day) & ~np.isnan(terms).any(axis=1)[:, None]
    residual = np.where(enough, residual, np.nan)
    hours = grouped.size().reindex(days).fillna(0).to_numpy(dtype=float)
    daily_seen = mean[:, n_features + n_terms : n_features + n_terms + n_seen]
    daily_at = mean[:, n_features + n_terms + n_seen :]

    natural = np.array([WATCHED[f].natural for f in features])
    prior = natural[:, None] * columns.prior[None, :]
    in_baseline = np.asarray((days >= baseline[0]) & (days < baseline[1]))
    terms = np.nan_to_num(terms)
    noise, keep = [], []
    for i in range(n_features):
        rows = in_baseline & ~np.isnan(residual[:, i])
        if rows.sum() < settings.min_baseline_days:
            continue
        keep.append(i)
        noise.append(innovations.estimate_noise(residual[rows, i], terms[rows], prior[i]))
    balance = np.column_stack([_test(f, seen, daily_seen) for f in features]) - mean[:, :n_features]
    return Days(
        index=days,
        baseline=in_baseline,
        features=tuple(features[i] for i in keep),
        residual=residual[:, keep],
        terms=terms,
        term_names=columns.names,
        prior=prior[keep],
        weight=np.sqrt(24.0 / np.clip(hours, 4.0, 24.0)) ** 0.5,
        noise=tuple(noise),
        hours=hours,
        seen=pd.DataFrame(daily_seen, index=days, columns=seen.columns),
        balance=balance[:, keep],
        at=Conditions(*(daily_at[:, k] for k in range(daily_at.shape[1]))),
        fitted=fitted,
    )


def _test(name: str, seen: pd.DataFrame, means: Array) -> Array:
    from sevenppb.detect.features import to_test

    return to_test(WATCHED[name], means[:, list(seen.columns).index(name)])


def _tamed(off: Array, healthy: NDArray[np.bool_]) -> Array:
    """Hourly residuals with single odd hours pulled in: to 4 robust standard deviations (of hour-to-hour change in
    the baseline) from the running median of 5 hours."""
    running = pd.DataFrame(off).rolling(5, center=True, min_periods=1).median().to_numpy()
    about = off - running
    spread = 1.4826 * np.nanmedian(abs(about[healthy]), axis=0)
    width = 4 * np.maximum(spread, 1e-9)
    return running + np.clip(about, -width, width)
