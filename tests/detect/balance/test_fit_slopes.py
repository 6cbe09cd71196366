"""The fit's finite differences, taken in one call, beside scipy's, taken one by one."""

import numpy as np
from numpy.typing import NDArray
from scipy.optimize._numdiff import approx_derivative

from sevenppb.detect.balance import fit

Array = NDArray[np.float64]
LOW, HIGH = np.array([-1.0, 0.0, -5.0]), np.array([2.0, 3.0, 1.0])


def curved(theta: Array) -> Array:
    """Of one point [3] or of many [K, 3]."""
    a, b, c = np.moveaxis(theta, -1, 0)
    return np.stack([np.exp(a) * b, np.sin(c) + a**2, a * b * c, b * b * b], axis=-1)


def test_same_slopes_as_one_by_one() -> None:
    for theta in (np.array([0.3, 1.2, -2.0]), np.array([-0.9, 2.9, 0.5])):
        one_by_one = approx_derivative(curved, theta, method="2-point", bounds=(LOW, HIGH))
        value, slopes = fit._sloped(curved, theta, LOW, HIGH)
        assert np.array_equal(value, curved(theta))
        assert np.array_equal(slopes, one_by_one)


def test_steps_stay_inside_the_bounds() -> None:
    asked: list[Array] = []

    def noted(theta: Array) -> Array:
        asked.append(theta)
        return curved(theta)

    at = HIGH - 1e-12
    _, slopes = fit._sloped(noted, at, LOW, HIGH)
    assert np.all(asked[0] <= HIGH)
    assert np.array_equal(slopes, approx_derivative(curved, at, method="2-point", bounds=(LOW, HIGH)))
