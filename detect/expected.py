"""Balance + seasonal terms → daily residuals with everything a test needs to know of their uncertainty."""

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from types import MappingProxyType

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from sevenppb.detect import weather
from sevenppb.detect.balance import fit, model
from sevenppb.detect.balance.fit import Fitted
from sevenppb.detect.balance.model import Conditions
from sevenppb.detect.drift import innovations
from sevenppb.detect.drift.innovations import Noise
from sevenppb.detect.features import SWING, WATCHED, coarseness, to_natural, to_test
from sevenppb.detect.seasonal import terms as seasonal
from sevenppb.detect.seasonal.pool import Season
from sevenppb.detect.seasonal.terms import Terms
from sevenppb.detect.settings import Settings

Array = NDArray[np.float64]

WANDER = 1.0  # of its noise from day to day, what a reading wanders over months: flicker noise
ROUNDED = (
    3.0**-0.5
)  # standard deviation of an error that is as likely anywhere within one step, over half the step
SMALLEST_SWING = 0.02  # of ln(load) within a day, below which the rise with load can't be told that day


@dataclass(frozen=True)
class Days:
    """One vessel's days: n days from the first to the last with readings, without gaps, F watched features, T terms.

    index      UTC midnights [n]
    baseline   [n] bool: days that count as healthy
    features   names of the F watched features
    residual   [n, F] observed − balance (and a borrowed season) on the test scale, mean over the day's steady hours;
               NaN where none
    terms      [n, T] seasonal terms, mean over the same hours
    prior      [F, T] prior standard deviation of each coefficient [test scale]
    weight     [n, F] a day's standard deviation over the usual one
    swing      the vessel's usual swing of ln(load) within a day, to which `_swing` features are scaled
    coarse     [F] how far each may be off for the step in which its reading is stored [test scale]
    noise      per feature
    hours      [n] steady hours
    seen       daily means of the natural-scale features (watched and shown)
    balance    daily means of what the balance (and a borrowed season) expects, on the test scale [n, F]
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
    swing: float
    coarse: Array

    @property
    def present(self) -> NDArray[np.bool_]:
        """[n, F]: days on which a feature can be tested."""
        return ~np.isnan(self.residual)

    @property
    def watched_from(self) -> int:
        """The row behind the baseline's last day. Raises IndexError where no day is in the baseline."""
        return int(np.flatnonzero(self.baseline)[-1]) + 1

    @property
    def tolerance(self) -> Array:
        """[F]: how far each wanders over months while nothing is wrong [test scale]: what is usual for such a reading,
        and what this one's own restlessness and the step in which it is stored add. The months that would show it are
        seldom in a baseline, and a drift hides in them."""
        usual = [WATCHED[f].tolerance for f in self.features]
        own = np.hypot([WANDER * noise.sd for noise in self.noise], self.coarse)
        return np.asarray(np.hypot(usual, own))


def daily(
    seen: pd.DataFrame,
    at: Conditions,
    steady: pd.Series,
    baseline: tuple[pd.Timestamp, pd.Timestamp],
    settings: Settings,
    borrowed: Mapping[str, Season] = MappingProxyType({}),
) -> Days:
    """Fit the balance and the seasonal terms on the baseline; residuals per day.

    seen      features per hour, natural scale (features.observed); at: conditions per hour
    steady    bool per hour, same index
    borrowed  by feature, the prior of its yearly terms where the fleet knows more than the stated one: its mean counts
              as expected
    """
    index = pd.DatetimeIndex(seen.index)
    use = steady.to_numpy()
    healthy = use & np.asarray((index >= baseline[0]) & (index < baseline[1]))
    unread = [
        f for f in WATCHED if f in seen and seen[f][healthy].isna().all()
    ]  # so nothing can be expected of it
    columns = seasonal.terms_of(index, at, healthy)
    read = _without_season(seen.drop(columns=unread), columns, borrowed)
    fitted = fit.fit_health(at, read, healthy)
    off = fit.residuals(read, model.expected(at, fitted.health))
    features: tuple[str, ...] = tuple(off.columns)

    table = np.column_stack(
        [columns.columns, seen.to_numpy(), *(getattr(at, f.name) for f in fields(Conditions))]
    )
    expects = np.column_stack([to_test(WATCHED[f], seen[f].to_numpy()) for f in features]) - off.to_numpy()
    label = index.floor("D")
    days = pd.date_range(label[0], label[-1], freq="D")
    row = np.asarray((label[use] - days[0]).days)
    tame = _tamed(off.to_numpy()[use], row, healthy[use])
    hours = np.bincount(row, minlength=len(days)).astype(float)
    mean, terms_seen_at = (
        _means(row, np.column_stack([tame, expects[use]]), len(days)),
        _means(row, table[use], len(days)),
    )
    residual, balance = np.split(mean, 2, axis=1)
    splits = np.cumsum([len(columns.names), seen.shape[1]])
    terms, daily_seen, daily_at = np.split(terms_seen_at, splits, axis=1)
    in_baseline = np.asarray((days >= baseline[0]) & (days < baseline[1]))

    swings = [i for i, f in enumerate(features) if f + SWING in WATCHED]
    both = np.column_stack([tame[:, swings], expects[use][:, swings]])
    slope, spread = _slopes(row, np.log(at.flow[use]), both, len(days))
    wide = spread[in_baseline & (spread > SMALLEST_SWING)]
    swing = float(np.median(wide)) if len(wide) >= settings.min_baseline_days else 0.0
    slope = np.where(
        (spread > max(SMALLEST_SWING, 0.4 * swing))[:, None] & (swing > 0), slope * swing, np.nan
    )
    swing_residual, swing_balance = np.split(slope, 2, axis=1)
    coarse = [coarseness(WATCHED[f], seen[f].to_numpy()[healthy]) for f in features] + [0.0] * len(swings)
    features += tuple(features[i] + SWING for i in swings)
    residual, balance = np.hstack([residual, swing_residual]), np.hstack([balance, swing_balance])
    few = np.sqrt(24.0 / np.clip(hours, 4.0, 24.0)) ** 0.5
    narrow = few * np.clip(swing / np.maximum(spread, 1e-6), 0.5, 3.0)
    weight = np.column_stack([few] * (len(features) - len(swings)) + [narrow] * len(swings))

    enough = (hours >= settings.min_hours_per_day) & ~np.isnan(terms).any(axis=1)
    readings = _counts(row, ~np.isnan(tame), len(days))
    asked = _asked(readings[in_baseline], settings.min_hours_per_day)
    asked = np.append(asked, np.full(len(swings), settings.min_hours_per_day))
    readings = np.hstack([readings, readings[:, swings]])
    residual = np.where(enough[:, None] & (readings >= asked), residual, np.nan)
    terms = np.nan_to_num(terms)
    prior = _priors(features, columns, borrowed)
    noise, keep = [], []
    for i in range(len(features)):
        rows = in_baseline & ~np.isnan(residual[:, i])
        if rows.sum() >= settings.min_baseline_days:
            keep.append(i)
            own = innovations.estimate_noise(np.where(rows, residual[:, i], np.nan), terms, prior[i])
            noise.append(_at_least(own, features[i], at, healthy, coarse[i]))
    return Days(
        index=days,
        baseline=in_baseline,
        features=tuple(features[i] for i in keep),
        residual=residual[:, keep],
        terms=terms,
        term_names=columns.names,
        prior=prior[keep],
        weight=weight[:, keep],
        noise=tuple(noise),
        hours=hours,
        seen=pd.DataFrame(daily_seen, index=days, columns=seen.columns),
        balance=balance[:, keep],
        at=Conditions(*daily_at.T),
        fitted=fitted,
        swing=swing,
        coarse=np.array(coarse)[keep],
    )


def _at_least(own: Noise, feature: str, at: Conditions, healthy: NDArray[np.bool_], coarse: float) -> Noise:
    """The noise with what a baseline may not show of it: the weather's, and a rounded reading's."""
    if feature == "subcooling":
        own = weather.noise_of_subcooling(own, at.barometer[healthy], at.shell_pressure[healthy])
    return replace(own, sd=max(own.sd, ROUNDED * coarse))


def _without_season(read: pd.DataFrame, columns: Terms, borrowed: Mapping[str, Season]) -> pd.DataFrame:
    """Readings less what the fleet's seasons do to them: the healthy state is fitted to what is left, as that of the
    others was to a whole year."""
    out = read.copy()
    yearly = [columns.names.index(term) for term in seasonal.YEARLY_TERMS]
    for name in borrowed.keys() & set(read.columns):
        feature = WATCHED[name]
        usual = columns.columns[:, yearly] @ (feature.natural * borrowed[name].mean)
        out[name] = to_natural(feature, to_test(feature, read[name].to_numpy()) - usual)
    return out


def _priors(features: tuple[str, ...], columns: Terms, borrowed: Mapping[str, Season]) -> Array:
    """Prior standard deviation of each coefficient [F, T], on the test scale."""
    natural = np.array([WATCHED[f].natural for f in features])
    prior = natural[:, None] * columns.prior[None, :]
    yearly = [columns.names.index(term) for term in seasonal.YEARLY_TERMS]
    for i, name in enumerate(features):
        for k, driver in enumerate(columns.drivers):
            if driver is not None and not driver.explains(WATCHED[name].role):
                prior[i, k] = 0.0
        if name in borrowed:
            prior[i, yearly] = natural[i] * borrowed[name].sd
    return prior


def _means(row: NDArray[np.intp], values: Array, n: int) -> Array:
    """Mean per day of what is there; NaN where nothing is."""
    there = ~np.isnan(values)
    count, total = _counts(row, there, n), _counts(row, np.where(there, values, 0.0), n)
    return np.divide(total, count, out=np.full_like(total, np.nan), where=count > 0)


def _counts(row: NDArray[np.intp], values: NDArray[np.generic], n: int) -> Array:
    """Sum per day of each column [n, columns]."""
    return np.column_stack([np.bincount(row, weights=column, minlength=n) for column in values.T])


def _asked(readings: Array, most: int) -> Array:
    """Readings a day [F] from which on its mean counts, from those of the baseline's days [days, F]: half of what is
    usual for a tag that is sampled by hand, `most` for any other."""
    usual = np.array([np.median(own[own > 0]) if own.any() else np.inf for own in readings.T])
    return np.minimum(np.ceil(usual / 2.0), most)


def _slopes(row: NDArray[np.intp], x: Array, values: Array, n: int) -> tuple[Array, Array]:
    """Slope of each column on x within each day [n, columns], and the standard deviation of x within the day [n]."""
    off = x - _means(row, x[:, None], n)[row, 0]
    spread = np.sqrt(np.nan_to_num(_means(row, off[:, None] ** 2, n)[:, 0]))
    about = values - _means(row, values, n)[row]
    slope = _means(row, about * off[:, None], n) / np.maximum(spread, 1e-9)[:, None] ** 2
    return slope, spread


def _tamed(off: Array, row: NDArray[np.intp], healthy: NDArray[np.bool_]) -> Array:
    """Hourly residuals with odd hours pulled in: to 4 robust standard deviations (of hours about their day, in the
    baseline) from the day's median."""
    middle = pd.DataFrame(off).groupby(row).transform("median").to_numpy()
    about = off - middle
    width = 4 * np.maximum(1.4826 * np.nanmedian(abs(about[healthy]), axis=0), 1e-9)
    return np.asarray(middle + np.clip(about, -width, width))
