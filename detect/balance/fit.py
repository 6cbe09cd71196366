"""Health on the baseline: robust least squares with priors, its covariance, and what could not be determined."""

import functools
from collections.abc import Callable
from dataclasses import dataclass, fields

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import optimize, special
from scipy.stats import qmc

from sevenppb.detect.balance import health as table
from sevenppb.detect.balance.health import Health
from sevenppb.detect.balance.model import Conditions, Expected, expected
from sevenppb.detect.features import WATCHED, to_test

Array = NDArray[np.float64]

FIT_HOURS = (
    400  # hours that the fit looks at, spread evenly over the baseline; more change nothing but the time
)
INDEPENDENT = 40.0  # hours that all those together weigh as
METERED = ("steam_flow", "outlet_flow")  # what the heat and mass balances close
ALL_HOURS = (
    2.5  # natural moves that such a flow may read off in all hours alike: scales of meters, unmetered streams
)
DRAWS = 16  # healths that stand for what may be true of the plant
DISCREPANCY = (
    0.7  # by how many natural moves a healthy plant may read otherwise than the model: no fit is closer
)
DETERMINED = (
    0.7  # a parameter is determined by the readings where its error is below this share of its prior's
)


# share of a mean residual that is left out for that error, which stands in all hours: I + e² 1 1ᵀ whitened
COMMON = 1.0 - 1.0 / np.sqrt(1.0 + INDEPENDENT * (ALL_HOURS / DISCREPANCY) ** 2)


@dataclass(frozen=True)
class Fitted:
    """Health at the baseline; `error` is each fitted parameter's standard error on its own scale (log or additive);
    `undetermined` names those that stayed at their prior because these tags don't show them. `draws` holds DRAWS
    healths in one (fields are columns), spread as widely as a plant that differs from the model may lie."""

    health: Health
    draws: Health
    error: dict[str, float]
    undetermined: tuple[str, ...]


def fit_health(at: Conditions, seen: pd.DataFrame, rows: NDArray[np.bool_]) -> Fitted:
    """Health that best explains the watched features `seen` (natural scale, a row an hour) over the baseline's steady
    hours `rows` (bool, same length)."""
    picked = np.flatnonzero(rows)
    picked = picked[np.linspace(0, len(picked) - 1, min(FIT_HOURS, len(picked))).astype(int)]
    here = take(at, picked)
    features = [f for f in WATCHED.values() if f.name in seen]
    targets = {f.name: to_test(f, seen[f.name].to_numpy()[picked]) for f in features}
    start = Health(
        flow=float(np.nanmedian(here.flow)),
        pressure=float(np.nanmedian(here.shell_pressure)),
        supply=float(np.nanmedian(here.steam_pressure)),
        barometer=float(np.nanmedian(here.barometer)),
        makeup_share=np.nan if np.isnan(here.makeup_share).all() else float(np.nanmedian(here.makeup_share)),
    )
    names = [row[0] for row in table.FITTED]
    prior = np.array([_scale(start, name) for name in names])
    spread = np.array([row[1] for row in table.FITTED])
    low = np.array([_to_scale(row[0], row[2]) for row in table.FITTED])
    high = np.array([_to_scale(row[0], row[3]) for row in table.FITTED])

    def health_at(theta: Array) -> Health:
        """Of one point [P], or of K in one [K, P]."""
        steps = zip(names, np.moveaxis(theta - prior, -1, 0), strict=True)
        return start.moved_by({n: by[..., None] if theta.ndim > 1 else float(by) for n, by in steps})

    def misfit(theta: Array) -> Array:
        model = expected(here, health_at(theta))
        many = theta.shape[:-1]
        parts = [(theta - prior) / spread]
        for feature in features:
            sigma = max(feature.tolerance, DISCREPANCY * feature.natural)
            off = (targets[feature.name] - to_test(feature, getattr(model, feature.name))) / sigma
            off = np.where(np.isnan(off), 0.0, off)
            # What stands in all hours goes before odd ones are softened: else a meter far off would seem the quieter.
            if feature.name in METERED:
                off = off - COMMON * off.mean(axis=-1, keepdims=True)
            # Hours are alike and correlated: together they weigh as INDEPENDENT ones.
            softened = _softened(off) * np.sqrt(INDEPENDENT / len(picked))
            parts.append(np.broadcast_to(softened, (*many, len(picked))))
        return np.concatenate(parts, axis=-1)

    @functools.lru_cache(maxsize=1)  # the solver asks for the slopes at the point it has just tried
    def sloped(point: bytes) -> tuple[Array, Array]:
        return _sloped(misfit, np.frombuffer(point), low, high)

    best = optimize.least_squares(
        lambda theta: sloped(theta.tobytes())[0],
        np.clip(prior, low, high),
        jac=lambda theta: sloped(theta.tobytes())[1],
        bounds=(low, high),
        x_scale=spread,
        max_nfev=40,
    )
    covariance = np.linalg.pinv(best.jac.T @ best.jac)
    error = dict(zip(names, np.sqrt(np.diag(covariance)).tolist(), strict=True))
    undetermined = tuple(
        name for name, sd in zip(names, spread, strict=True) if error[name] > DETERMINED * sd
    )
    return Fitted(health_at(best.x), _draws(best, names, spread, health_at(best.x)), error, undetermined)


def _sloped(misfit: Callable[[Array], Array], theta: Array, low: Array, high: Array) -> tuple[Array, Array]:
    """The misfit [M] and its finite differences [M, P], all points in one call: the model costs calls more than
    points."""
    step = np.sqrt(np.finfo(float).eps) * np.where(theta < 0, -1.0, 1.0) * np.maximum(1.0, abs(theta))
    outside = (theta + step < low) | (theta + step > high)
    points = np.vstack([theta, theta + np.diag(np.where(outside, -step, step))])
    values = misfit(points)
    return values[0], np.asarray(((values[1:] - values[0]) / np.diag(points[1:] - theta)[:, None]).T)


def _draws(best: optimize.OptimizeResult, names: list[str], spread: Array, at: Health) -> Health:
    """Healths spread about the best fit by its covariance: normal on the parameters' own scales, at fixed quantiles of
    a low-discrepancy sequence, so that every scan draws the same."""
    rows = best.jac[len(names) :]
    wide = np.linalg.inv(rows.T @ rows + np.diag(spread**-2.0))
    unit = special.ndtri(qmc.Sobol(len(names), scramble=True, rng=np.random.default_rng(7)).random(DRAWS))
    moves = unit @ np.linalg.cholesky(wide).T
    for name, move, row in zip(names, moves.T, table.FITTED, strict=True):
        low, high = (_to_scale(name, bound) - _scale(at, name) for bound in row[2:])
        at = at.moved(name, np.clip(move, low, high)[:, None])
    return at


def take(at: Conditions, rows: NDArray[np.intp]) -> Conditions:
    """The conditions at some rows."""
    return Conditions(**{f.name: getattr(at, f.name)[rows] for f in fields(Conditions)})


def residuals(seen: pd.DataFrame, model: Expected) -> pd.DataFrame:
    """Observed − expected per hour on the test scale, a column a watched feature."""
    return pd.DataFrame(
        {
            f.name: to_test(f, seen[f.name].to_numpy()) - to_test(f, getattr(model, f.name))
            for f in WATCHED.values()
            if f.name in seen
        },
        index=seen.index,
    )


def _softened(off: Array) -> Array:
    """Residuals whose square grows only linearly beyond 3 (pseudo-Huber): an odd hour must not steer the fit."""
    return np.asarray(np.sign(off) * np.sqrt(2 * 9 * (np.sqrt(1 + off**2 / 9) - 1)))


def _scale(health: Health, name: str) -> float:
    return _to_scale(name, getattr(health, name))


def _to_scale(name: str, value: float) -> float:
    return value if name in table.ADDITIVE else float(np.log(value))
