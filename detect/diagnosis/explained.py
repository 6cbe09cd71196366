"""How well effects of some size explain the effects that were found: what is granted to plants that differ from the
model, and the likelihood over sizes."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sevenppb.detect.diagnosis.signatures import Candidate

Array = NDArray[np.float64]

SIZES = np.geomspace(0.1, 5.0, 40)  # sizes tried, in the signature's own step; log-uniform prior
KNOTS = (1.0, 2.0, 5.0)  # sizes at which patterns are taken, straight between them
_BETWEEN = np.array(  # shares of the knots' patterns in each size's [KNOTS, SIZES]; none at size 0
    [np.interp(SIZES, (0.0, *KNOTS), row) for row in np.eye(len(KNOTS) + 1)[1:]]
)
SPILL = 0.12  # effect on an unpredicted residual, as a share of its natural move per natural move predicted


@dataclass(frozen=True)
class Doubt:
    """By how much a plant may differ from the predicted effects: `share` of each [F]; `spill`, the move of any feature
    in natural moves per natural move predicted; `bend` [F, F], the move of the second feature per move predicted of
    the first (None: none)."""

    share: Array
    spill: float = SPILL
    bend: Array | None = None


@dataclass(frozen=True)
class Scatter:
    """How effects lie about what explains them: their covariance [F, F], and what it is if conditions that are watched
    as well have moved for reasons of their own, with the probability of that (None: none is watched)."""

    usual: Array
    moved: Array | None = None
    chance: float = 0.0

    @property
    def each(self) -> list[tuple[float, Array]]:
        """The covariances, each after the log of its probability."""
        if self.moved is None:
            return [(0.0, self.usual)]
        return [(float(np.log1p(-self.chance)), self.usual), (float(np.log(self.chance)), self.moved)]


@dataclass(frozen=True)
class Row:
    """Something that may explain a change: log of its prior times its mean likelihood, its log likelihood [K, SIZES]
    and effects `mean` [K, SIZES, F], and the `doubt` about these. Of a pair, that is by the first one's sizes, with the
    second at its likeliest."""

    candidate: Candidate | None
    cause: str
    total: float
    likelihood: Array
    mean: Array
    doubt: Doubt | None = None
    beside: Candidate | None = None


def at_sizes(knots: Array) -> Array:
    """Effects [K, SIZES, F] from those at the KNOTS [KNOTS, K, F]; none at size 0."""
    return np.asarray(np.einsum("gs,gkf->ksf", _BETWEEN, knots))


def by_size(effect: Array, base: Scatter, mean: Array, natural: Array, doubt: Doubt) -> Array:
    """Log likelihood for each draw's effects at each of SIZES, mean [K, SIZES, F]; what is granted to a plant's
    difference from the model grows with the effects."""
    return allowing(effect, base, mean, granted(effect, mean, natural, doubt))


def by_size_fixed(effect: Array, base: Scatter, mean: Array, natural: Array, doubt: Doubt) -> Array:
    """The same with what is granted held at the size that fits best, for the size's interval: were it to grow with the
    size tried, small sizes would be favoured for their small covariance alone."""
    every = np.arange(len(mean))
    best = np.full(len(mean), int(np.argmin(abs(SIZES - 1.0))))
    for _ in range(6):
        allowed = granted(effect, mean[every, best], natural, doubt)
        off = (effect - mean) ** 2 / (np.diag(base.usual) + allowed)[:, None, :]
        best = np.argmin(off.sum(axis=2), axis=1)
    return allowing(effect, base, mean, allowed[:, None])


def allowing(effect: Array, base: Scatter, mean: Array, allowed: Array) -> Array:
    """Log density of the effects about `mean` [..., F] with these variances [..., F] besides the scatter `base`."""
    more = allowed[..., None] * np.eye(len(effect))
    first, *others = (chance + normal(effect, mean, covariance + more) for chance, covariance in base.each)
    return np.asarray(np.logaddexp(first, *others) if others else first)


def granted(effect: Array, mean: Array, natural: Array, doubt: Doubt) -> Array:
    """Variance of each effect that a plant unlike the model may have beyond the predicted `mean` [..., F]. An effect
    may be larger or smaller than predicted, but not its reverse: signs are respected."""
    reach = np.max(abs(mean) / natural, axis=-1)
    share = np.where(effect * mean > 0.0, doubt.share, 0.0)
    allowed = (share * mean) ** 2 + (doubt.spill * natural * reach[..., None]) ** 2
    return np.asarray(allowed if doubt.bend is None else allowed + (mean @ doubt.bend) ** 2)


def normal(x: Array, mean: Array, covariance: Array) -> Array:
    """Log density less a constant. A Cholesky factor of the covariance with `x - mean` as one more row holds in that
    row what solving by the factor would give, whatever stands in its corner: one call instead of two."""
    off = np.broadcast_to(x - mean, (*np.broadcast_shapes(mean.shape[:-1], covariance.shape[:-2]), len(x)))
    bordered = np.empty((*off.shape[:-1], len(x) + 1, len(x) + 1))
    bordered[..., :-1, :-1] = covariance
    bordered[..., -1, :-1] = bordered[..., :-1, -1] = off
    bordered[..., -1, -1] = np.finfo(float).max
    lower = np.linalg.cholesky(bordered)
    size = np.log(np.diagonal(lower, axis1=-2, axis2=-1)[..., :-1]).sum(axis=-1)
    return np.asarray(-0.5 * (lower[..., -1, :-1] ** 2).sum(axis=-1) - size)


def log_mean(values: Array) -> float:
    """Logarithm of the mean of what these are the logarithms of."""
    top = float(values.max())
    return top + float(np.log(np.mean(np.exp(values - top))))
