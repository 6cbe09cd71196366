"""Day by day: which directions have moved? Sees no later reading, knows no steam.

Each candidate change is a direction in the space of residuals. Its score per day is the innovations'
projection on that direction, weighted by what each residual is worth (the generalised least squares score):
independent, mean 0, standard deviation 1 while nothing changes. Scores go to one-sided CUSUM and EWMA charts
whose thresholds come from run-length theory for the share of the false-alarm budget that each chart has."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sevenppb.detect.drift import bootstrap, cusum, ewma, runlength
from sevenppb.detect.drift.innovations import Noise

Array = NDArray[np.float64]


MOST_A_DAY = 4.0  # score that one day can count for: a single odd day never raises an alarm


@dataclass(frozen=True)
class Charts:
    """Thresholds of the CUSUM (reference k, threshold h) and the EWMA (weight, limit): one, or one a direction [J]."""

    k: float
    h: Array
    weight: float
    limit: Array

    def raised(self, factor: float) -> "Charts":
        """With both thresholds `factor` times as high."""
        return replace(self, h=factor * self.h, limit=factor * self.limit)

    @property
    def in_deviations(self) -> Array:
        """The EWMA's thresholds in standard deviations of one day [J]."""
        return np.asarray(self.limit * np.sqrt(self.weight / (2 - self.weight)))


def charts_for(budget: float, directions: float, k: float, weight: float) -> Charts:
    """Charts for `budget` false alarms a year of daily values, shared by `directions` independent directions.

    CUSUM and EWMA of one direction go off together far more often than not; each is given three quarters of
    the direction's share, which the healthy runs in tests/behaviour confirm."""
    run_length = 365.25 * directions / (0.75 * budget)
    return Charts(
        k=k,
        h=np.array(runlength.cusum_threshold(k, run_length)),
        weight=weight,
        limit=np.array(runlength.ewma_limit(weight, run_length, two_sided=False)),
    )


def correlation(values: Array) -> Array:
    """Correlation [F, F] of one day's innovations, from those of the baseline [n, F], shrunk a twentieth towards none:
    a few months can't tell a correlation near 1 from 1, and a difference of two residuals must not be trusted beyond
    that."""
    tame = np.clip(np.nan_to_num(values), -3, 3)
    size = np.sqrt(np.maximum((tame**2).sum(axis=0), 1e-9))
    raw = (tame.T @ tame) / np.outer(size, size)
    return np.asarray(0.95 * raw + 0.05 * np.eye(len(raw)))


def charts_of(
    moves: Array, correlation: Array, noise: Sequence[Noise], budget: float, k: float, weight: float
) -> Charts:
    """Charts for a vessel's candidates. moves [n, F, J]: expected innovations under each one's step, over the
    baseline's days with readings; noise: of each of the F residuals."""
    usual = np.nan_to_num(np.nanmean(moves, axis=0)).T  # [J, F]
    unit = usual @ np.linalg.cholesky(np.linalg.inv(correlation))
    size = np.linalg.norm(unit, axis=1)
    unit = unit[size > 1e-9] / size[size > 1e-9, None]
    known = charts_for(budget, effective_directions(unit), k, weight)
    doubt = score_doubt(usual, correlation, np.array([one.doubt for one in noise]))
    return replace(
        known,
        h=known.h * runlength.cusum_margin(k, float(known.h), doubt),
        limit=known.limit * runlength.ewma_margin(float(known.limit), doubt),
    )


def score_doubt(usual: Array, correlation: Array, doubt: Array) -> Array:
    """Variance of the logarithm of each score's long-run standard deviation [J].

    usual [J, F] expected innovations under each step; doubt [F] the same variance of each residual's. A score's
    variance is a sum of shares by residual, and so is its error; the errors of two residuals' estimates correlate
    like their innovations, squared. A cause that moves many residuals is so less in doubt than a single sensor."""
    weighted = usual @ np.linalg.inv(correlation)
    variance = np.einsum("jf,jf->j", weighted, usual)
    share = weighted * usual / np.maximum(variance, 1e-18)[:, None]
    error = np.sqrt(doubt)
    return np.asarray(np.einsum("jf,fg,jg->j", share, correlation**2 * np.outer(error, error), share))


def checked(charts: Charts, baseline: Array, budget: float) -> float:
    """Factor on thresholds that the baseline's own scores [n, J] ask for (block bootstrap); 1 where theory holds."""
    asked = bootstrap.needed(
        baseline, (charts.k, charts.h), (charts.weight, charts.in_deviations), budget, MOST_A_DAY
    )
    return max(1.0, asked)


def effective_directions(directions: Array) -> float:
    """How many independent directions a set of correlated ones amounts to.

    directions [J, F] unit vectors of scores. From the eigenvalues of their correlation (Li & Ji 2005,
    Heredity 95, 221, from memory): each counts once plus its share beyond whole ones. One-sided pairs (+ and
    −) count twice."""
    if len(directions) == 0:
        return 1.0
    # rounded: a whole one must not fall below itself by the last digit
    values = np.round(np.abs(np.linalg.eigvalsh(directions @ directions.T)), 9)
    return max(1.0, 2.0 * float(np.sum((values >= 1) + (values - np.floor(values)))))


def scores(innovations: Array, moves: Array, correlation: Array) -> tuple[Array, Array]:
    """Scores of each direction.

    innovations  [n, F], NaN where a residual has no reading that day
    moves        [n, F, J] expected innovations under each candidate's step
    correlation  [F, F] of innovations of one day
    Returns scores [n, J] (NaN on days without readings, 0 where the direction moves nothing that was read)
    and the length [n, J] of each direction: the score's mean under the step."""
    n, _, j = moves.shape
    out, length = np.full((n, j), np.nan), np.zeros((n, j))
    present = ~np.isnan(innovations)
    patterns, which = np.unique(present, axis=0, return_inverse=True)
    for p, pattern in enumerate(patterns):
        rows = np.flatnonzero(which.ravel() == p)
        if not pattern.any():
            continue
        inverse = np.linalg.inv(correlation[np.ix_(pattern, pattern)])
        a = moves[np.ix_(rows, pattern.nonzero()[0])]
        weighted = np.einsum("fg,ngj->nfj", inverse, a)
        norm = np.sqrt(np.maximum(np.einsum("nfj,nfj->nj", a, weighted), 0.0))
        score = np.einsum("nfj,nf->nj", weighted, innovations[np.ix_(rows, pattern.nonzero()[0])])
        out[rows] = np.divide(score, norm, out=np.zeros_like(score), where=norm > 1e-9)
        length[rows] = norm
    return out, length


def chart_heights(score: Array, charts: Charts) -> Array:
    """Larger of CUSUM and EWMA over their thresholds, per day and direction [n, J]; 1 is the limit."""
    tame = np.clip(score, -MOST_A_DAY, MOST_A_DAY)
    up = cusum.one_sided(tame, charts.k) / charts.h
    smooth, _ = ewma.paths(tame, charts.weight)
    return np.asarray(np.fmax(up, smooth / charts.in_deviations))
