"""Trials of many sizes, each found or missed → the size that is found nine times in ten, with its interval.

The chance of being found is taken to rise with the logarithm of the size as the normal distribution does (a
probit curve); its place and width are averaged over a grid of all that are possible, so that few trials give
a wide interval rather than a confident number. Finney, Probit Analysis, 1947, for the curve; the priors are
common practice, no source.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

Array = NDArray[np.float64]

NINE_IN_TEN = 1.2816  # standard deviations
WIDTHS = np.geomspace(0.1, 1.0, 12)  # of the rise, in ln(size)
BEYOND = 8.0  # times the largest and under the smallest size tried, where the curve's middle may lie
CHANCE = 0.02  # of a found or a missed trial that has nothing to do with size


@dataclass(frozen=True)
class Smallest:
    """The size found in nine of ten trials and its 90 % interval, in the sizes' unit. `value` is None where
    that is more than the largest size tried; so is `high`."""

    value: float | None
    low: float
    high: float | None

    def scaled(self, by: Callable[[float], float]) -> "Smallest":
        """The same in another unit; `by` rises."""
        value, high = (None if s is None else by(s) for s in (self.value, self.high))
        return Smallest(value, by(self.low), high)


def smallest(size: Array, found: NDArray[np.bool_]) -> Smallest:
    """From trials of positive sizes [n] and whether each was found [n]; at least one trial."""
    middle = np.linspace(np.log(size.min() / BEYOND), np.log(size.max() * BEYOND), 120)[:, None]
    width = WIDTHS[None, :]
    seen = ndtr((np.log(size) - middle[..., None]) / width[..., None])
    seen = CHANCE + (1.0 - 2.0 * CHANCE) * seen
    likelihood = np.where(found, np.log(seen), np.log1p(-seen)).sum(axis=-1)
    weight = np.exp(likelihood - likelihood.max()).ravel()
    ninth = (middle + NINE_IN_TEN * width).ravel()
    order = np.argsort(ninth)
    share = np.cumsum(weight[order]) / weight.sum()
    low, value, high = (float(np.exp(np.interp(q, share, ninth[order]))) for q in (0.05, 0.5, 0.95))
    largest = float(size.max())
    return Smallest(value if value <= largest else None, min(low, largest), high if high <= largest else None)
