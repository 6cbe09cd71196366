"""Spray valves: differential against flow.

A fixed orifice follows the square of the flow. A spring-loaded valve does not: its area grows with the
differential, so the differential rises with less than the square. Both are

    differential = reference * (flow / (openness * reference flow)) ** exponent

with the `exponent` fitted to a healthy stretch, and `openness` [1] the flow area left: 1 when healthy, 0.5
where half of the sprays pass nothing. NaN gives NaN. The form is a fit, not a law: common practice, no
source."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Curve:
    """A healthy spray bank: `differential` [Pa] at `flow` [kg/s]; `exponent` 2 for fixed orifices, down to
    about 1 for soft springs."""

    flow: float | Array
    differential: float | Array
    exponent: float | Array = 2.0


def differential(flow: npt.ArrayLike, curve: Curve, openness: npt.ArrayLike = 1.0) -> Array:
    """Differential [Pa] at a flow [kg/s] and an openness [1]. Negative flow gives NaN."""
    rate = np.asarray(flow, dtype=np.float64) / (np.asarray(openness, dtype=np.float64) * curve.flow)
    rate = np.where(rate >= 0, rate, np.nan)
    return np.asarray(curve.differential * rate**curve.exponent)


def openness(flow: npt.ArrayLike, measured: npt.ArrayLike, curve: Curve) -> Array:
    """Flow area left [1] that a measured differential [Pa] at a flow [kg/s] implies; NaN where there is no
    differential or nothing flows: the valves are shut and say nothing."""
    share = np.asarray(measured, dtype=np.float64) / curve.differential
    rate = np.asarray(flow, dtype=np.float64) / curve.flow
    rate, share = np.broadcast_arrays(rate, share)
    share = np.where((share > 0) & (rate > 0), share, np.nan)
    return np.asarray(rate * share ** (-1.0 / np.asarray(curve.exponent)))
