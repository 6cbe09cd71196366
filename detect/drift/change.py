"""When a residual began to move, and in which shape: a step, a ramp (straight or bent), or on and off.

The noise is a first-order autoregression of known strength, so a likelihood needs only what each day adds to
the day before. Every shape is laid at every possible onset, its size comes out by least squares, and its
likelihood is averaged over sizes, onsets and lengths: so the shapes compete on equal terms, and the onset's
interval takes in what isn't known about the rest. Nothing here knows what the residual is."""

from dataclasses import dataclass
from math import comb
from typing import Literal

import numpy as np
import numpy.typing as npt
from scipy.special import logsumexp

from sevenppb.detect.drift import autoregression, switching

Array = npt.NDArray[np.float64]
Shape = Literal["step", "ramp", "intermittent"]
Bent = tuple[float, float, float]

_MOST_KNOTS = 250  # ramps begin and end on at most so many days, else on every second, third, ...
_USUAL_SIZE = 3.0  # prior standard deviation of a change's size, in those of one day
_SHORTEST_RAMP = 7  # days; a shorter one is told as a step
_ON_OFF_ON = 3  # days; fewer can't show a move that came back
_RISING = -1
# Courses of a ramp, u going from 0 to 1: what it has of u, u² and u³. A fault that grows evenly seldom shows evenly:
# what a narrowing vent holds back goes with one over its area, what a spray loses saturates, what feeds on itself
# quickens.
STRAIGHT = (1.0, 0.0, 0.0)
_BENT = (STRAIGHT, (1.4, -0.4, 0.0), (0.5, 0.5, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
_SLOW = 30  # days; a shorter ramp with a cube is a step with a foot: it would date steps early
_SHORTEST = np.array([_SLOW if bent[-1] else _SHORTEST_RAMP for bent in _BENT])
_POWERS = range(1, 4)
# Of each course, in powers of the days since its onset over its length, and then of those since it was full: from there
# on the second takes away what the first adds, (x + 1)^k being the sum of binomial(k, j) x^j.
_PARTS = np.array(
    [
        (*bent, *(-sum(comb(k, j) * part for k, part in zip(_POWERS, bent, strict=True)) for j in _POWERS))
        for bent in _BENT
    ]
)
_TWO = np.triu_indices(_PARTS.shape[1])  # every two of the parts, in a course's square
_SQUARES = _PARTS[:, _TWO[0]] * _PARTS[:, _TWO[1]] * np.where(_TWO[0] == _TWO[1], 1.0, 2.0)
_TAIL = 0.05  # outside each end of a 90 % interval


@dataclass(frozen=True)
class Change:
    """What moved. Days are row numbers.

    shape        the likeliest; `probability` is its share among the three [1]
    onset        first day affected, with its 90 % interval `low` to `high`
    full         day on which the move is whole: the onset for a step; None while a ramp still rises on the
                 last day, and for on and off
    bent         a ramp's course, as `along` takes it; straight for other shapes
    size         the whole move, or what a ramp has reached by the last day [unit of y]
    size_se      its standard error, over all onsets of this shape
    gain         log-likelihood over no change at all, at the best fit
    """

    shape: Shape
    probability: float
    onset: int
    low: int
    high: int
    full: int | None
    bent: Bent
    size: float
    size_se: float
    gain: float


@dataclass(frozen=True)
class _Candidate:
    """One shape's best fit; `evidence` is its likelihood averaged over all its fits, a logarithm, and `days`
    the probability of each day being its onset."""

    shape: Shape
    evidence: float
    days: Array
    onset: int
    full: int | None
    bent: Bent
    size: float
    size_se: float
    gain: float


@dataclass(frozen=True)
class _Fits:
    """Fits of one shape, an entry each: onset, full day, place of the course in _BENT, precision and size of the move,
    log posterior."""

    onset: npt.NDArray[np.intp]
    full: npt.NDArray[np.intp]
    bent: npt.NDArray[np.intp]
    precision: Array
    size: Array
    posterior: Array


def fit(y: Array, sd: npt.ArrayLike, phi: float, earliest: int, level_sd: float = 0.0) -> Change:
    """The likeliest change in a daily residual.

    y: (n,) residuals, NaN where none, about zero before the change. sd: standard deviation of one day, one or
    one a day [unit of y]. phi: correlation of one day with the next, in [0, 1). earliest: first day on which
    a change may begin. level_sd: how well the zero is known [unit of y], from 0 exactly to inf not at all,
    which needs days before `earliest`. Raises ValueError where no day from `earliest` on is observed."""
    if not np.any(~np.isnan(y[earliest:])):
        raise ValueError(f"no observation on or after day {earliest}, so no change can be looked for")
    series = _Series.of(y, sd, phi, level_sd)
    candidates = [_step(series, earliest)]
    if series.last + 1 - earliest >= _SHORTEST_RAMP:
        candidates.append(_ramp(series, earliest))
    if np.count_nonzero(series.memory.days >= earliest) >= _ON_OFF_ON:
        candidates.append(_intermittent(series, earliest))
    evidence = np.array([candidate.evidence for candidate in candidates])
    share = np.exp(evidence - logsumexp(evidence))
    best = candidates[int(np.argmax(share))]
    passed = np.cumsum(sum(p * candidate.days for p, candidate in zip(share, candidates, strict=True)))
    low, high = np.searchsorted(passed, [_TAIL, 1.0 - _TAIL])
    return Change(
        shape=best.shape,
        probability=float(share.max()),
        onset=best.onset,
        low=min(int(low), best.onset),
        high=max(int(high), best.onset),
        full=best.full,
        bent=best.bent,
        size=best.size,
        size_se=best.size_se,
        gain=best.gain,
    )


@dataclass(frozen=True)
class _Series:
    """The observed days' innovations (`white`), those of a constant (`level`), and what is `known` of the
    constant beforehand, a precision; `sd` usual of one day; `last` observed day."""

    memory: autoregression.Memory
    white: Array
    level: Array
    known: float
    sd: float
    last: int

    @staticmethod
    def of(y: Array, sd: npt.ArrayLike, phi: float, level_sd: float) -> "_Series":
        memory = autoregression.memory(y, sd, phi)
        return _Series(
            memory=memory,
            white=memory.innovations(y[memory.days]),
            level=memory.innovations(np.ones(len(memory.days))),
            known=np.inf if level_sd == 0.0 else level_sd**-2,
            sd=float(np.median(np.asarray(sd))),
            last=int(memory.days[-1]),
        )

    @property
    def size_sd(self) -> float:
        return _USUAL_SIZE * self.sd

    def constant(self, rows: npt.NDArray[np.bool_]) -> float:
        """The likeliest value of the constant by some of the days, if nothing moved."""
        precision = float(self.level[rows] @ self.level[rows]) + self.known
        return float(self.level[rows] @ self.white[rows]) / precision if precision > 0 else 0.0

    def cost(self, constant: float) -> float:
        """Log-likelihood lost by this value of the constant against the likeliest, if nothing moved."""
        if self.known == np.inf:
            return 0.0
        precision = float(self.level @ self.level) + self.known
        best = float(self.level @ self.white) / precision
        return 0.5 * precision * (constant - best) ** 2

    def regress(self, square: Array, with_level: Array, with_white: Array) -> tuple[Array, Array, Array]:
        """From a shape's products with itself, a constant and the data: its precision, its size, and its
        averaged likelihood over no change, a logarithm."""
        constant = self.level @ self.level + self.known
        precision = square - with_level**2 / constant
        score = with_white - with_level * (self.level @ self.white) / constant
        shrunk = 1.0 / (self.size_sd**-2 + precision)
        evidence = 0.5 * (score**2 * shrunk + np.log(shrunk / self.size_sd**2))
        return precision, score / precision, evidence


def _step(series: _Series, earliest: int) -> _Candidate:
    """A step is a constant from its onset on, so all its products are tails of the constant's own."""
    own, level = series.memory.own, series.level

    def tail(values: Array) -> Array:
        return np.append(np.cumsum(values[::-1])[::-1][1:], 0.0)

    onset = np.arange(earliest, series.last + 1)
    # a step on a missing day shows on the next observed one
    first = np.searchsorted(series.memory.days, onset)
    square = own**2 + tail(level**2)
    with_level = own * level + tail(level**2)
    with_white = own * series.white + tail(level * series.white)
    precision, size, evidence = series.regress(square[first], with_level[first], with_white[first])
    prior = np.full(len(onset), -np.log(len(onset)))
    return _best(
        "step",
        series,
        1,
        _Fits(onset, onset, np.zeros(len(onset), dtype=int), precision, size, evidence + prior),
    )


def along(u: Array, bent: Bent) -> Array:
    """A ramp's course where a straight one has come to u [1], from 0 to 1."""
    return np.asarray(sum(part * u**power for power, part in zip(_POWERS, bent, strict=True)))


def _ramp(series: _Series, earliest: int) -> _Candidate:
    """A ramp of any course is a sum of powers of the days since its two ends, so every ramp's products come from
    those of the powers."""
    span = series.last + 1 - earliest
    stride = -(-span // _MOST_KNOTS)
    knots = np.arange(earliest, series.last + 1, stride)
    ends = np.append(knots, series.last + 1)  # an end after the last day leaves the ramp rising
    start, stop = np.triu_indices(len(ends), 1)
    length = (ends[stop] - ends[start]).astype(np.float64)
    start, stop, length = (part[length >= _SHORTEST_RAMP] for part in (start, stop, length))

    hinges = np.maximum(series.memory.days[:, None] - ends + 1.0, 0.0)
    basis = series.memory.innovations(np.hstack([hinges**power for power in _POWERS]))
    basis = basis[(moving := series.memory.days >= earliest)]
    sides = [end + (power - 1) * len(ends) for end in (start, stop) for power in _POWERS]
    scale = np.tile(length ** -np.array(_POWERS)[:, None], (2, 1))
    with_level, with_white = (
        _PARTS @ (scale * (basis.T @ values[moving])[sides]) for values in (series.level, series.white)
    )
    products = basis.T @ basis
    square = _SQUARES @ np.array(
        [products[sides[i], sides[j]] * scale[i] * scale[j] for i, j in zip(*_TWO, strict=True)]
    )
    precision, size, evidence = series.regress(square, with_level, with_white)
    # any onset is as likely as any other; so is any order of magnitude of the length, up to twice the span
    rising = stop == len(ends) - 1
    longest = 2.0 * span
    share = np.where(rising, np.log(longest / length), np.log1p(stride / length))
    tried = length >= _SHORTEST[:, None]
    prior = np.log(share / np.log(longest / _SHORTEST_RAMP) / len(knots) / tried.sum(axis=0))
    bent, ramp = np.nonzero(tried)
    return _best(
        "ramp",
        series,
        stride,
        _Fits(
            ends[start[ramp]],
            np.where(rising, _RISING, ends[stop] - 1)[ramp],
            bent,
            precision[tried],
            size[tried],
            (evidence + prior)[tried],
        ),
    )


def _intermittent(series: _Series, earliest: int) -> _Candidate:
    """On and off is searched at one value of the constant, the likeliest of the days before `earliest`, and
    pays for how much worse than the best that value does without a move."""
    memory = series.memory
    before = memory.days < earliest
    zero = series.constant(before)
    white = series.white - zero * series.level
    found = switching.fit(memory, white, series.sd, series.size_sd, earliest)
    return _Candidate(
        shape="intermittent",
        evidence=found.evidence - series.cost(zero),
        days=np.bincount(memory.days, weights=found.onset, minlength=series.last + 1).astype(np.float64),
        onset=int(memory.days[np.argmax(found.onset)]),
        full=None,
        bent=STRAIGHT,
        size=found.size,
        size_se=found.size_se,
        gain=found.gain - series.cost(zero),
    )


def _best(shape: Shape, series: _Series, stride: int, fits: _Fits) -> _Candidate:
    """The onset in the middle of a shape's fits, since the likeliest of all is often an outlier's, and the
    likeliest fit that begins there; the size over all fits. A fit stands for `stride` days from its onset
    on."""
    evidence = float(logsumexp(fits.posterior))
    weight = np.exp(fits.posterior - evidence)
    days = np.bincount(fits.onset, weights=weight, minlength=series.last + 1)
    onset = int(np.searchsorted(np.cumsum(days), 0.5))
    there = np.flatnonzero(fits.onset == onset)
    best = there[np.argmax(fits.posterior[there])]
    size = float(weight @ fits.size)
    return _Candidate(
        shape=shape,
        evidence=evidence,
        days=np.convolve(days, np.full(stride, 1.0 / stride))[: series.last + 1],
        onset=onset,
        full=None if fits.full[best] == _RISING else int(fits.full[best]),
        bent=_BENT[fits.bent[best]],
        size=size,
        size_se=float(np.sqrt(weight @ (1.0 / fits.precision + (fits.size - size) ** 2))),
        gain=float(0.5 * fits.size[best] ** 2 * fits.precision[best]),
    )
