"""Values that no instrument of the role can truly show."""

import numpy as np
import numpy.typing as npt

from sevenppb.detect.quality.hourly import Floats, Hours, Ints


def suspects(hours: Hours, low: float, high: float) -> Ints:
    """The hours that hold a value outside the bounds."""
    return np.flatnonzero((hours.low < low) | (hours.high > high))


def outside(value: Floats, low: float, high: float) -> npt.NDArray[np.bool_]:
    """Which values lie outside the bounds; NaN does not."""
    return (value < low) | (value > high)
