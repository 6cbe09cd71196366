"""Which cause explains the change? Bayes over the table of causes, drift of each sensor, nothing, and something else.

Each explanation predicts a pattern of effects over the residuals; its likelihood is integrated over the size of its
move. Plants differ from the model, so each predicted effect carries a relative standard error, and effects that are
not predicted are allowed in proportion to the predicted ones. No threshold is tuned to a cause.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sevenppb.detect.balance import fit
from sevenppb.detect.balance.health import DIRECT
from sevenppb.detect.causes import CAUSES
from sevenppb.detect.diagnosis import signatures
from sevenppb.detect.diagnosis.change import Change
from sevenppb.detect.diagnosis.signatures import Candidate, Instruments
from sevenppb.detect.expected import Days
from sevenppb.detect.features import WATCHED

Array = NDArray[np.float64]

SIZES = np.geomspace(0.1, 5.0, 40)  # sizes tried, in the signature's own step; log-uniform prior
KNOTS = (1.0, 2.0, 5.0)  # sizes at which patterns are taken, straight between them
_BETWEEN = np.array(  # shares of the knots' patterns in each size's [KNOTS, SIZES]; none at size 0
    [np.interp(SIZES, (0.0, *KNOTS), row) for row in np.eye(len(KNOTS) + 1)[1:]]
)
EVERY = 12  # days between those at which patterns are taken
WORTH_ASKING = 1.5  # gain in log likelihood
SENSOR_PRIOR = 2.0  # all sensors together, where each process cause weighs 1
SENSOR_DISCREPANCY = (
    0.2  # what a wrong reading does to residuals, or a parameter to the reading that shows it
)
NOTHING_PRIOR = 25.0
UNEXPLAINED_PRIOR = 0.3
AGAIN_PRIOR = 8.0  # a change already known that grows or goes back, each
AGAIN_DISCREPANCY = 0.35  # its pattern was measured, but while it was small
SPILL = 0.12  # effect on an unpredicted residual, as a share of its natural move per natural move predicted
BROAD = 2.0  # an unexplained change moves a residual by this many natural moves


@dataclass(frozen=True)
class Explanation:
    """A candidate with its posterior probability and its size with 90 % interval, in the signature's step."""

    candidate: Candidate | None
    cause: str
    role: str | None
    probability: float
    size: float
    low: float
    high: float
    pattern: Array


@dataclass(frozen=True)
class Again:
    """Posterior probability that a change already known has gone on growing, or has gone back."""

    growing: float
    going_back: float


@dataclass(frozen=True)
class Diagnosis:
    """Explanations by falling probability, given that something new has changed; `nothing` is the posterior probability
    that nothing has, `again` one record for each change already known."""

    explanations: tuple[Explanation, ...]
    nothing: float
    again: tuple[Again, ...]


@dataclass(frozen=True)
class Patterns:
    """What each candidate would do to each residual at the KNOTS, for K draws of the plant on S days of the record:
    rows [S] of Days, moves [KNOTS, K, S, F, J]."""

    candidates: tuple[Candidate, ...]
    rows: NDArray[np.intp]
    moves: Array

    def during(self, change: Change) -> Array:
        """Moves averaged over the days on which a change was there [KNOTS, K, F, J]."""
        there = change.course[self.rows] > 0.3
        if not there.any():
            next_row = min(int(np.searchsorted(self.rows, change.onset)), len(self.rows) - 1)
            there = self.rows >= self.rows[next_row]
        return np.asarray(self.moves[:, :, there].mean(axis=2))


def patterns_of(days: Days, instruments: Instruments) -> Patterns:
    """Patterns at every EVERY-th day that ran; the days don't hang on how far the record goes."""
    running = (days.hours > 0) & ~np.isnan(days.at.flow)
    rows = np.flatnonzero(running & (np.arange(len(running)) % EVERY == 0))
    drawn = signatures.signatures(
        fit.take(days.at, rows), days.fitted.draws, days.features, instruments, KNOTS
    )
    return Patterns(drawn.candidates, rows, drawn.moves)


def worth_asking(days: Days, change: Change) -> bool:
    """Whether a change can be more likely something than nothing at all: a bound that costs nothing. The best
    explanation gains at most half the sum of squares of the effects over error and tolerance."""
    use = np.isfinite(change.error)
    tolerance = np.array([WATCHED[f].tolerance for f in days.features])
    gain = 0.5 * np.sum(change.effect[use] ** 2 / (change.error[use] ** 2 + tolerance[use] ** 2))
    return bool(gain > WORTH_ASKING)


def diagnose(
    days: Days,
    change: Change,
    patterns: Patterns,
    correlation: Array,
    discrepancy: float,
    earlier: tuple[Array, ...] = (),
) -> Diagnosis:
    """Posterior over explanations of one change.

    earlier   effects [F, on the test scale] of changes already known, which may go on growing or go back; the
              posterior probability of each is in `again`
    """
    use = np.isfinite(change.error)
    effect, error = change.effect[use], change.error[use]
    names = [f for f, u in zip(days.features, use, strict=True) if u]
    natural = np.array([WATCHED[f].natural for f in names])
    tolerance = np.array([WATCHED[f].tolerance for f in names])
    base = correlation[np.ix_(use, use)] * np.outer(error, error) + np.diag(tolerance**2)
    usual = patterns.during(change)[:, :, use, :]
    candidates = patterns.candidates

    sensors = sum(c.cause == "sensor-drift" for c in candidates)
    doubts: dict[str, Array] = {}
    rows: list[tuple[Candidate | None, str, float, Array, Array]] = []
    for j, candidate in enumerate(candidates):
        sensor = candidate.cause == "sensor-drift"
        prior = SENSOR_PRIOR / max(sensors, 1) if sensor else 1.0
        doubt = np.full(len(names), SENSOR_DISCREPANCY if sensor else discrepancy)
        doubt[[name == DIRECT.get(CAUSES[candidate.cause].parameter or "") for name in names]] = (
            SENSOR_DISCREPANCY
        )
        doubts[candidate.name] = doubt
        mean = _at_sizes(usual[..., j])
        rows.append(
            (candidate, candidate.cause, np.log(prior), _by_size(effect, base, mean, natural, doubt), mean)
        )
    loose = base + np.diag((BROAD * natural) ** 2)
    zero = np.zeros((1, 1, len(effect)))
    unexplained = _normal(effect, zero, loose[None, None, :, :])
    nothing = _normal(effect, zero, base[None, None, :, :])
    rows.append((None, "unexplained", np.log(UNEXPLAINED_PRIOR), unexplained, effect[None, None, :]))
    rows.append((None, "nothing", np.log(NOTHING_PRIOR), nothing, effect[None, None, :]))

    for known in earlier:
        for sign in (1.0, -1.0):
            mean = sign * SIZES[None, :, None] * np.nan_to_num(known)[use]
            likelihood = _by_size(effect, base, mean, natural, np.full(len(names), AGAIN_DISCREPANCY))
            rows.append((None, "again", np.log(AGAIN_PRIOR), likelihood, mean))

    total = np.array([prior + _log_mean(likelihood) for _, _, prior, likelihood, _ in rows])
    posterior = np.exp(total - total.max())
    posterior /= posterior.sum()
    new = len(candidates) + 1
    something = max(float(posterior[:new].sum()), 1e-12)
    repeated = posterior[new + 1 :].reshape(-1, 2)
    found = []
    for (named, cause, _, likelihood, mean), p in zip(rows[:new], posterior[:new], strict=True):
        size, low, high, there = 1.0, 1.0, 1.0, 0
        if named is not None:
            size, low, high = _size(_by_size_fixed(effect, base, mean, natural, doubts[named.name]))
            there = int(np.argmin(abs(np.log(SIZES / size))))
        role = named.role if named is not None else None
        like = np.exp(likelihood - likelihood.max()).sum(axis=1)  # [K]: which draws of the plant fit
        told = (like @ mean[:, there]) / like.sum()
        found.append(Explanation(named, cause, role, float(p) / something, size, low, high, told))
    found.sort(key=lambda e: -e.probability)
    again = tuple(Again(float(grow), float(back)) for grow, back in repeated)
    return Diagnosis(tuple(found), float(posterior[new]), again)


def _at_sizes(knots: Array) -> Array:
    """Effects [K, SIZES, F] from those at the KNOTS [KNOTS, K, F]; none at size 0."""
    return np.asarray(np.einsum("gs,gkf->ksf", _BETWEEN, knots))


def _by_size(effect: Array, base: Array, mean: Array, natural: Array, discrepancy: Array) -> Array:
    """Log likelihood for each draw's effects at each of SIZES, mean [K, SIZES, F]; what is granted to a plant's
    difference from the model grows with the effects."""
    covariance = base + _granted(effect, mean, natural, discrepancy)[..., None] * np.eye(len(natural))
    return _normal(effect, mean, covariance)


def _by_size_fixed(effect: Array, base: Array, mean: Array, natural: Array, discrepancy: Array) -> Array:
    """The same with what is granted held at the size that fits best, for the size's interval: were it to grow with the
    size tried, small sizes would be favoured for their small covariance alone."""
    every = np.arange(len(mean))
    best = np.full(len(mean), int(np.argmin(abs(SIZES - 1.0))))
    for _ in range(6):
        granted = _granted(effect, mean[every, best], natural, discrepancy)
        off = (effect - mean) ** 2 / (np.diag(base) + granted)[:, None, :]
        best = np.argmin(off.sum(axis=2), axis=1)
    covariance = base + granted[..., None] * np.eye(len(natural))
    return _normal(effect, mean, covariance[:, None])


def _granted(effect: Array, mean: Array, natural: Array, discrepancy: Array) -> Array:
    """Variance of each effect that a plant unlike the model may have beyond the predicted `mean` [..., F]. An effect
    may be larger or smaller than predicted, but not its reverse: signs are respected."""
    reach = np.max(abs(mean) / natural, axis=-1)
    share = np.where(effect * mean > 0.0, discrepancy, 0.0)
    return np.asarray((share * mean) ** 2 + (SPILL * natural * reach[..., None]) ** 2)


def _normal(x: Array, mean: Array, covariance: Array) -> Array:
    lower = np.linalg.cholesky(covariance)
    off = np.linalg.solve(lower, (x - mean)[..., None])[..., 0]
    size = np.log(np.diagonal(lower, axis1=-2, axis2=-1)).sum(axis=-1)
    return np.asarray(-0.5 * (off**2).sum(axis=-1) - size)


def _log_mean(values: Array) -> float:
    top = float(values.max())
    return top + float(np.log(np.mean(np.exp(values - top))))


def _size(likelihood: Array) -> tuple[float, float, float]:
    weight = np.exp(likelihood - likelihood.max()).sum(axis=0)
    share = np.cumsum(weight) / weight.sum()
    at = [float(np.exp(np.interp(q, share, np.log(SIZES)))) for q in (0.5, 0.05, 0.95)]
    return at[0], at[1], at[2]
