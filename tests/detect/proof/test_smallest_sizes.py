"""The size found nine times in ten: its interval holds the truth, and few trials say little."""

import numpy as np
import pytest
from scipy.stats import norm

from sevenppb.detect.proof.sizes import smallest


def drawn(
    rng: np.random.Generator, trials: int, middle: float, width: float
) -> tuple[np.ndarray, np.ndarray]:
    size = np.exp(np.log(0.125) + np.log(32.0) * (np.arange(trials) + rng.random(trials)) / trials)
    return size, rng.random(trials) < norm.cdf((np.log(size) - np.log(middle)) / width)


@pytest.mark.parametrize("trials", [6, 20])
def test_the_interval_holds_the_truth(trials: int) -> None:
    rng = np.random.default_rng(1)
    inside = 0
    for _ in range(300):
        middle, width = np.exp(rng.uniform(np.log(0.3), np.log(1.5))), rng.uniform(0.15, 0.6)
        told = smallest(*drawn(rng, trials, middle, width))
        truth = middle * np.exp(norm.ppf(0.9) * width)
        inside += told.low <= truth and (told.high is None or truth <= told.high)
    assert inside >= 0.87 * 300


def test_more_trials_narrow_it() -> None:
    rng = np.random.default_rng(2)
    few, many = smallest(*drawn(rng, 6, 0.5, 0.3)), smallest(*drawn(rng, 60, 0.5, 0.3))
    assert few.high is not None
    assert many.high is not None
    assert many.high / many.low < 0.5 * few.high / few.low
    assert many.value == pytest.approx(0.5 * np.exp(norm.ppf(0.9) * 0.3), rel=0.35)


def test_none_found_is_more_than_was_tried() -> None:
    size = np.array([0.2, 0.5, 1.0, 2.0])
    told = smallest(size, np.zeros(4, dtype=bool))
    assert (told.value, told.high) == (None, None)
    assert told.low > 1.0


def test_all_found_is_less_than_was_tried() -> None:
    size = np.array([0.2, 0.5, 1.0, 2.0])
    told = smallest(size, np.ones(4, dtype=bool))
    assert told.value is not None
    assert told.value < 0.2


def test_another_unit_keeps_what_is_none() -> None:
    told = smallest(np.array([1.0, 2.0]), np.array([False, False])).scaled(lambda size: 10.0 * size)
    assert told.value is None
    assert told.low > 10.0
