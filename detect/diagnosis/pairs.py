"""Two causes at once, where the likeliest single ones leave much of a change unexplained."""

import numpy as np
from numpy.typing import NDArray

from sevenppb.detect.causes import CAUSES
from sevenppb.detect.diagnosis.explained import Doubt, Row, Scatter, allowing, granted, log_mean
from sevenppb.detect.diagnosis.signatures import Candidate

Array = NDArray[np.float64]

PRIOR = 0.004  # two causes at once, times both weights: about one change in fifty
FIRSTS = 3  # the likeliest causes, each tried with every other beside it
WORTH_ASKING = 4.0  # log likelihood that a single cause must lack to a perfect fit
NONE = Doubt(np.zeros(1), 0.0)
_SIZES = slice(0, None, 5)  # of the sizes tried, each cause for itself
_DRAWS = slice(0, None, 4)  # of the plant


def pairs(singles: tuple[Row, ...], effect: Array, base: Scatter, natural: Array) -> list[Row]:
    """Two causes at once, the first of which shows more clearly. Asked only where the likeliest single ones leave more
    unexplained than the second one must pay for."""
    firsts = sorted(singles, key=lambda row: -row.total)[:FIRSTS]
    if min((_left(row, effect, base, natural) for row in firsts), default=0.0) < WORTH_ASKING:
        return []
    return [
        _pair(first, second, effect, base, natural)
        for k, first in enumerate(firsts)
        for second in singles
        if not any(second is known for known in firsts[: k + 1])
        and not _same_thing(first.candidate, second.candidate)
    ]


def _same_thing(one: Candidate | None, other: Candidate | None) -> bool:
    """Whether both move one parameter or one reading."""
    if one is None or other is None:
        return True
    return (CAUSES[one.cause].parameter, one.role) == (CAUSES[other.cause].parameter, other.role)


def _left(row: Row, effect: Array, base: Scatter, natural: Array) -> float:
    """Log likelihood that the row's likeliest size lacks to a perfect fit."""
    k, size = np.unravel_index(int(np.argmax(row.likelihood)), row.likelihood.shape)
    mean = row.mean[k, size]
    more = granted(effect, mean, natural, row.doubt or NONE)
    return float(allowing(effect, base, effect, more) - allowing(effect, base, mean, more))


def _pair(one: Row, other: Row, effect: Array, base: Scatter, natural: Array) -> Row:
    """Of the two, the one that shows more clearly is the candidate, by its sizes beside the other at its likeliest."""
    means = [row.mean[_DRAWS, _SIZES] for row in (one, other)]
    doubts = [row.doubt or NONE for row in (one, other)]
    mean, allowed = _both(effect, means[0][:, :, None], means[1][:, None, :], doubts, natural)
    likelihood = allowing(effect, base, mean, allowed)  # [K, sizes, sizes]
    best = np.unravel_index(int(np.argmax(likelihood)), likelihood.shape)
    prior = [row.total - log_mean(row.likelihood) for row in (one, other)]
    total = float(np.log(PRIOR) + sum(prior)) + log_mean(likelihood)

    shown = [
        float(np.sum(m[best[0], size] ** 2 / np.diag(base.covariance)))
        for m, size in zip(means, best[1:], strict=True)
    ]
    first = int(shown[1] > shown[0])
    rows, doubts = (one, other)[:: 1 - 2 * first], doubts[:: 1 - 2 * first]
    beside = rows[1].mean[:, _SIZES][:, best[2 - first]]
    mean, allowed = _both(effect, rows[0].mean, beside[:, None], doubts, natural)
    likelihood = allowing(effect, base, mean, allowed)
    doubt = Doubt(np.maximum(*(d.share for d in doubts)), max(d.spill for d in doubts))
    return Row(rows[0].candidate, rows[0].cause, total, likelihood, mean, doubt, rows[1].candidate)


def _both(
    effect: Array, one: Array, other: Array, doubts: list[Doubt], natural: Array
) -> tuple[Array, Array]:
    """Effects of two causes together [..., F], and the variance that a plant unlike the model may have beyond them."""
    mean = one + other
    shares = sum((d.share * m) ** 2 for d, m in zip(doubts, (one, other), strict=True))
    spills = sum(
        (d.spill * np.max(abs(m) / natural, axis=-1)) ** 2 for d, m in zip(doubts, (one, other), strict=True)
    )
    return mean, np.where(effect * mean > 0.0, shares, 0.0) + spills[..., None] * natural**2
