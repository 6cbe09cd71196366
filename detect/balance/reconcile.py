"""Weighted reconciliation: the nearest readings that satisfy the balances, and whether one of the meters
lies.

Where more is measured than is needed, balances adjust every reading in proportion to its uncertainty. All
adjustments together tell whether the readings can be true at all; each one over its own deviation tells which
can't. Source: VDI 2048 Part 1 (October 2000), Uncertainties of measurement during acceptance tests on
energy-conversion and power plants; Narasimhan and Jordache, Data Reconciliation and Gross Error Detection
(2000).
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import chdtrc

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Reconciled:
    """For n times of m readings. `values` (n, m) and their `covariance` (m, m). `misfit` (n,): the weighted
    sum of squared corrections, chi-square with `redundancy` degrees of freedom while no meter lies; `p` (n,)
    its probability of being that large. `suspicion` (n, m): each |correction| over its own standard
    deviation, a normal deviate while no meter lies; NaN for a reading that no balance checks.

    Where every time has balances of its own, `covariance` is (n, m, m) and `redundancy` (n,)."""

    values: Array
    covariance: Array
    misfit: Array
    redundancy: npt.NDArray[np.intp]
    p: Array
    suspicion: Array


def reconcile(
    measured: Array, covariance: Array, balances: Array, right_side: npt.ArrayLike = 0.0
) -> Reconciled:
    """Readings moved as little as their uncertainty allows, so that balances @ values = right_side.

    measured: (n, m), a NaN makes its whole row NaN; covariance: (m, m) of the readings; balances: (c, m), or
    (n, c, m) where each time has its own; may hold rows that follow from others; right_side: one, (c,) or
    (n, c). Units are the reader's own.
    """
    across = np.swapaxes(balances, -1, -2)
    spread = balances @ covariance @ across
    weight = np.linalg.pinv(spread, hermitian=True)
    redundancy = np.asarray(np.linalg.matrix_rank(spread, hermitian=True))
    gain = covariance @ across @ weight
    imbalance = (balances @ measured[..., None])[..., 0] - np.asarray(right_side, dtype=np.float64)
    correction = (gain @ imbalance[..., None])[..., 0]
    misfit = (imbalance * (weight @ imbalance[..., None])[..., 0]).sum(axis=-1)
    moved = gain @ balances @ covariance
    own = np.diagonal(moved, axis1=-2, axis2=-1)
    deviation = np.sqrt(np.where(own > 1e-12 * np.diag(covariance), own, np.nan))
    return Reconciled(
        values=measured - correction,
        covariance=covariance - moved,
        misfit=misfit,
        redundancy=redundancy,
        p=np.asarray(chdtrc(redundancy, misfit)),
        suspicion=np.abs(correction) / deviation,
    )
