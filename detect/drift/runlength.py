"""How long a CUSUM or EWMA chart runs before it alarms, and the limit that gives a wanted run length.

The average run length L from a state z solves an integral equation of the second kind, L = 1 + (kernel) L,
which Gauss-Legendre nodes turn into linear equations (Nystrom). Observations are independent, normal, of unit
variance; shifts are in their standard deviations. Sources: Page (1954), Biometrika 41, for the CUSUM; Crowder
(1987), Technometrics 29, for the EWMA."""

from collections.abc import Callable
from functools import cache

import numpy as np
import numpy.typing as npt
from scipy.optimize import brentq
from scipy.special import ndtr, roots_hermitenorm, roots_legendre

Array = npt.NDArray[np.float64]

# so many Gauss nodes reproduce published tables to 6 digits
_NODES_PER_SIGMA, _FEWEST_NODES = 3, 40
_DEEPEST = 7.0  # a one-sided EWMA is as good as never so many of its deviations below zero
_DOUBTS = 9  # Gauss-Hermite nodes over what the noise may be
_WIDEST = 8.0  # times a limit that doubt can ask for
_LONGEST, _NEVER = 1e9, 1e12  # observations: the longest limit asked for; the longest that doubles resolve


def cusum_arl(k: float, h: float, shift: float = 0.0) -> float:
    """Average run length of a one-sided CUSUM from zero, allowance k and limit h, at a shift of the mean."""
    nodes, weights = _gauss(0.0, h, h)
    states = np.append(0.0, nodes)
    kernel = np.empty((states.size, states.size))
    kernel[:, 0] = ndtr(k - states - shift)
    kernel[:, 1:] = weights * _density(nodes[None, :] + k - states[:, None] - shift)
    return _run_length(kernel)


def ewma_arl(lam: float, limit: float, shift: float = 0.0, two_sided: bool = True) -> float:
    """Average run length of an EWMA from zero with weight `lam` and a fixed limit of `limit` times its
    long-run standard deviation, on both sides or above only."""
    spread = np.sqrt(lam / (2.0 - lam))
    high = limit * spread
    low = -high if two_sided else -_DEEPEST * spread
    nodes, weights = _gauss(low, high, (high - low) / lam)
    states = np.append(0.0, nodes)
    kernel = np.zeros((states.size, states.size))
    kernel[:, 1:] = weights / lam * _density((nodes[None, :] - (1.0 - lam) * states[:, None]) / lam - shift)
    return _run_length(kernel)


@cache
def cusum_threshold(k: float, arl: float) -> float:
    """Limit h of a one-sided CUSUM with allowance k that runs `arl` observations on average when nothing is
    wrong; up to 1e9, else ValueError."""
    _check(arl, cusum_arl(k, 0.0))
    return float(brentq(lambda h: np.log(cusum_arl(k, h) / arl), 0.0, _bracket(k, arl), xtol=1e-6))


@cache
def ewma_limit(lam: float, arl: float, two_sided: bool = True) -> float:
    """Limit of an EWMA, in its long-run standard deviations, that runs `arl` observations on average when
    nothing is wrong; up to 1e9, else ValueError."""
    _check(arl, 2.0)
    return float(
        brentq(lambda limit: np.log(ewma_arl(lam, limit, 0.0, two_sided) / arl), 1e-3, 8.0, xtol=1e-6)
    )


def cusum_margin(k: float, h: float, doubt: Array) -> Array:
    """Factor on the limit of a one-sided CUSUM, allowance k and limit h, for observations whose standard deviation is
    known only by its logarithm's variance `doubt` (any shape).

    A run length grows like the exponential of the limit over the variance, so too low an estimate of it costs more
    false alarms than too high a one saves: with this margin the rate, averaged over what the standard deviation may be,
    is what the limit promises. The logarithm's mean lies half of `doubt` above the estimate: 1 - phi is skewed. In
    Siegmund's approximation (Sequential Analysis, 1985)."""

    def log_rate(limit: Array, spread: Array) -> Array:
        reach = 2.0 * k / spread * (limit / spread + 1.166)
        return np.asarray(2.0 * np.log(k / spread) - reach - np.log1p(-(reach + 1.0) * np.exp(-reach)))

    return _margin(log_rate, h, doubt)


def ewma_margin(limit: float, doubt: Array) -> Array:
    """The same for an EWMA, `limit` in long-run standard deviations: it crosses as often as a smooth normal process
    crosses a high level (Rice 1944, Bell System Technical Journal 23)."""

    def log_rate(level: Array, spread: Array) -> Array:
        return np.asarray(np.log(level / spread) - 0.5 * (level / spread) ** 2)

    return _margin(log_rate, limit, doubt)


def _margin(log_rate: Callable[[Array, Array], Array], limit: float, doubt: Array) -> Array:
    nodes, weights = roots_hermitenorm(_DOUBTS)
    log_weight = np.log(weights / weights.sum())
    spread = np.exp(np.sqrt(doubt)[..., None] * nodes + 0.5 * doubt[..., None])
    wanted = log_rate(np.array(limit), np.array(1.0))
    low, high = np.ones(doubt.shape), np.full(doubt.shape, _WIDEST)
    for _ in range(30):  # halves the bracket to the last digit that matters
        middle = 0.5 * (low + high)
        often = (
            np.logaddexp.reduce(log_weight + log_rate(limit * middle[..., None], spread), axis=-1) > wanted
        )
        low, high = np.where(often, middle, low), np.where(often, high, middle)
    return np.asarray(np.where(doubt > 0.0, high, 1.0))


def _bracket(k: float, arl: float) -> float:
    """A limit beyond the wanted one, from Siegmund's approximation: arl = (exp(2kb) - 2kb - 1) / (2k^2),
    b = h + 1.166 (Sequential Analysis, 1985); without allowance it is b^2."""
    longest = np.sqrt(arl)
    return float(min(longest, np.log(2.0 * k * k * arl + 10.0) / k) + 3.0) if k > 0 else float(longest + 3.0)


def _check(arl: float, shortest: float) -> None:
    if not shortest < arl <= _LONGEST:
        raise ValueError(
            f"no limit gives an average run length of {arl:g} observations: "
            f"choose one above {shortest:.3g} and up to {_LONGEST:g}"
        )


def _gauss(low: float, high: float, width_in_sigma: float) -> tuple[Array, Array]:
    """Gauss-Legendre nodes and weights over an interval that many standard deviations of a step wide."""
    blocks = int(np.ceil(max(1.0, width_in_sigma * _NODES_PER_SIGMA / _FEWEST_NODES)))
    nodes, weights = _legendre(blocks * _FEWEST_NODES)
    half = (high - low) / 2.0
    return low + half * (nodes + 1.0), half * weights


@cache
def _legendre(count: int) -> tuple[Array, Array]:
    nodes, weights = roots_legendre(count)
    return np.asarray(nodes), np.asarray(weights)


def _density(x: Array) -> Array:
    return np.asarray(np.exp(-0.5 * x * x) / np.sqrt(2.0 * np.pi))


def _run_length(kernel: Array) -> float:
    size = len(kernel)
    length = float(np.linalg.solve(np.eye(size) - kernel, np.ones(size))[0])
    # so long that the equations lose their last digit: the sign is then chance
    return length if 0.0 < length < _NEVER else _NEVER
