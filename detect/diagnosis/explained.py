"""How well effects of some size explain the effects that were found: what is granted to plants that differ from the
model, and the likelihood over sizes."""

from dataclasses import dataclass
from functools import cached_property

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
class Loose:
    """An effect that may have moved for a reason of its own beside what explains the others: its place, the variance
    that it then has more, and the probability of that."""

    place: int
    variance: float
    chance: float


@dataclass(frozen=True)
class Scatter:
    """How effects lie about what explains them: their covariance [F, F], and which of them may be loose."""

    covariance: Array
    loose: Loose | None = None

    @cached_property
    def order(self) -> NDArray[np.intp]:
        """The effects' places, the loose one last."""
        every = np.arange(len(self.covariance))
        return (
            every if self.loose is None else np.append(np.delete(every, self.loose.place), self.loose.place)
        )


@dataclass(frozen=True)
class Row:
    """Something that may explain a change: log of its prior times its mean likelihood, its log likelihood [K, SIZES]
    and effects `mean` [K, SIZES, F], the `doubt` about these, and what its `own` reading adds by size. Of a pair, that
    is by the first one's sizes, with the second at its likeliest."""

    candidate: Candidate | None
    cause: str
    total: float
    likelihood: Array
    mean: Array
    doubt: Doubt | None = None
    beside: Candidate | None = None
    own: Array | float = 0.0


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
        off = (effect - mean) ** 2 / (np.diag(base.covariance) + allowed)[:, None, :]
        best = np.argmin(off.sum(axis=2), axis=1)
    return allowing(effect, base, mean, allowed[:, None])


def could_gain(mean: Array, base: Scatter) -> Array:
    """What effects `mean` [K, F], found just so, would gain in log likelihood over none [K]."""
    return np.asarray(0.5 * (mean * np.linalg.solve(base.covariance, mean.T).T).sum(axis=1))


def allowing(effect: Array, base: Scatter, mean: Array, allowed: Array) -> Array:
    """Log density, less a constant, of the effects about `mean` [..., F] with these variances [..., F] besides the
    scatter `base`. What a loose effect has more changes the last pivot alone: one factor gives both densities."""
    order = base.order
    covariance = base.covariance[np.ix_(order, order)]
    pivot, off = _factored((effect - mean)[..., order], covariance, allowed[..., order])
    density = -0.5 * (off**2).sum(axis=-1) - np.log(pivot.prod(axis=-1))
    if base.loose is None:
        return np.asarray(density)
    last, wider = pivot[..., -1], np.sqrt(pivot[..., -1] ** 2 + base.loose.variance)
    moved = density + 0.5 * off[..., -1] ** 2 * (1.0 - (last / wider) ** 2) + np.log(last / wider)
    return np.asarray(np.logaddexp(density + np.log1p(-base.loose.chance), moved + np.log(base.loose.chance)))


def granted(effect: Array, mean: Array, natural: Array, doubt: Doubt) -> Array:
    """Variance of each effect that a plant unlike the model may have beyond the predicted `mean` [..., F]. An effect
    may be larger or smaller than predicted, but not its reverse: signs are respected."""
    reach = np.max(abs(mean) / natural, axis=-1)
    share = np.where(effect * mean > 0.0, doubt.share, 0.0)
    allowed = (share * mean) ** 2 + (doubt.spill * natural * reach[..., None]) ** 2
    return np.asarray(allowed if doubt.bend is None else allowed + (mean @ doubt.bend) ** 2)


def _factored(off: Array, covariance: Array, allowed: Array) -> tuple[Array, Array]:
    """Pivots [..., F] of the Cholesky factor of a covariance [F, F] with variances `allowed` [..., F] more, and `off`
    [..., F] divided by that factor. With `off` as one more row the factor holds in that row what solving by it would
    give, whatever stands in its corner: one call instead of two."""
    shape, size = np.broadcast_shapes(off.shape, allowed.shape), off.shape[-1]
    bordered = np.empty((*shape[:-1], size + 1, size + 1))
    bordered[..., :-1, :-1] = covariance
    bordered[..., -1, :-1] = bordered[..., :-1, -1] = off
    bordered[..., -1, -1] = np.finfo(float).max
    np.einsum("...ii->...i", bordered)[..., :-1] += allowed
    lower = np.linalg.cholesky(bordered)
    return np.einsum("...ii->...i", lower)[..., :-1], lower[..., -1, :-1]


def log_mean(values: Array) -> float:
    """Logarithm of the mean of what these are the logarithms of."""
    top = float(values.max())
    return top + float(np.log(np.mean(np.exp(values - top))))
