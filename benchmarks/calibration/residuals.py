"""Made-up days of a vessel's residuals: what the watch is given, with a truth that it is not told.

Correlated features; noise that a day remembers of the day before; a load that is never the same again, and a season,
both of which the residuals follow as far as their priors allow. No steam, no plant: `benchmarks/quality` has those.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

from sevenppb.detect.drift import innovations, watch
from sevenppb.detect.settings import Settings

Array = NDArray[np.float64]
NATURAL = 3.0  # standard deviations of a day that a feature's natural move is worth


@dataclass(frozen=True)
class Plan:
    """What is made. `baseline` and `watched` days; `features` residuals; `phi` correlation of one day with the next;
    `missing` share of days without a reading; `season`: do load and year leave something over?"""

    baseline: int = 365
    watched: int = 365
    features: int = 6
    phi: float = 0.5
    missing: float = 0.08
    season: bool = True


@dataclass(frozen=True)
class Vessel:
    """residual [n, F] in standard deviations of a day, terms [n, m] with prior [m], moves [F, J] of the candidates."""

    residual: Array
    terms: Array
    prior: Array
    moves: Array
    baseline: int


def vessel(plan: Plan, rng: np.random.Generator) -> Vessel:
    """A healthy one."""
    n = plan.baseline + plan.watched
    mixing = np.linalg.cholesky(_correlation(plan.features, rng))
    noise = remembered(rng.standard_normal((n, plan.features)) @ mixing.T, plan.phi)
    terms, prior = _terms(n, rng)
    if plan.season:
        noise += terms @ (prior[:, None] * rng.standard_normal((len(prior), plan.features)))
    noise[rng.random(n) < plan.missing] = np.nan  # an outage
    noise[rng.random(noise.shape) < plan.missing / 4] = np.nan  # a reading
    causes = rng.standard_normal((plan.features, plan.features + 2)) * (
        rng.random((plan.features, plan.features + 2)) < 0.5
    )
    causes[0, ~causes.any(axis=0)] = 1.0
    one = np.hstack([causes, np.eye(plan.features)])
    return Vessel(
        noise,
        np.column_stack([np.ones(n), terms]),
        np.append(np.inf, prior),
        np.hstack([one, -one]),
        plan.baseline,
    )


def remembered(fresh: Array, phi: float) -> Array:
    """Stationary first-order autoregression of unit variance from independent normals [n, ...]."""
    start = fresh.copy()
    start[1:] *= np.sqrt(1 - phi**2)
    return np.asarray(lfilter([1.0], [1.0, -phi], start, axis=0))


def _correlation(features: int, rng: np.random.Generator) -> Array:
    """Two common causes beside each feature's own noise."""
    loading = rng.standard_normal((features, 2)) * 0.5
    covariance = loading @ loading.T + np.eye(features)
    size = np.sqrt(np.diag(covariance))
    return np.asarray(covariance / np.outer(size, size))


def _terms(n: int, rng: np.random.Generator) -> tuple[Array, Array]:
    """Operating point (follows the weather, and wanders off), weekend, year; priors as the tool's own shares of a
    natural move."""
    day = np.arange(n) + rng.integers(365)
    year = 2 * np.pi * day / 365.25
    weather = np.cos(year) + 0.5 * remembered(rng.standard_normal(n), 0.8)
    load = weather + 0.5 * remembered(rng.standard_normal(n), 0.95) + rng.normal(0, 0.4) * day / 365.25
    inlet = 0.7 * weather + remembered(rng.standard_normal(n), 0.9)
    columns = [load, load**2 - np.mean(load**2), inlet, (day % 7 >= 5) - 2 / 7]
    columns += [wave(k * year) for k in (1, 2) for wave in (np.cos, np.sin)]
    share = np.array([0.3, 0.1, 0.3, 0.3, 0.25, 0.25, 0.125, 0.125])
    return np.column_stack(columns), NATURAL * share


def watched(made: Vessel, settings: Settings) -> Array:
    """The charts' heights from the end of the baseline on [days, J], as a scan works them out: noise from the baseline,
    innovations, their correlation, scores, charts."""
    n, features = made.residual.shape
    early = np.arange(n) < made.baseline
    values, response = np.full((n, features), np.nan), np.zeros((n, features))
    noises = []
    for f in range(features):
        there = ~np.isnan(made.residual[:, f])
        noise = innovations.estimate_noise(
            made.residual[: made.baseline, f], made.terms[: made.baseline], made.prior
        )
        noises.append(noise)
        white = innovations.whitener(there, made.terms, made.prior, noise, np.ones(n))
        values[white.days, f], response[white.days, f] = white(made.residual[:, f]), white.response()
    correlation = watch.correlation(values[early])
    moves = made.moves[None] * response[:, :, None]
    healthy = early & ~np.isnan(values).all(axis=1)
    k, weight = settings.cusum_reference, settings.ewma_weight
    charts = watch.charts_of(moves[healthy], correlation, noises, settings.false_alarms, k, weight)
    score, _ = watch.scores(values, moves, correlation)
    charts = charts.raised(watch.checked(charts, score[healthy], settings.false_alarms))
    return watch.chart_heights(score[made.baseline :], charts)
