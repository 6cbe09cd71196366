"""EWMA charts over many residuals at once.

Form and variance: NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.2.4; limits come from
runlength."""

import numpy as np
import numpy.typing as npt
import pandas as pd

Array = npt.NDArray[np.float64]


def paths(g: Array, lam: float) -> tuple[Array, Array]:
    """Exponentially weighted means from 0, and their standard deviations.

    g: (n, m) or (n,) residuals of unit variance, independent in time, NaN where none; lam: weight of the
    newest, in (0, 1]. Gives two arrays of g's shape: z = lam g + (1 - lam) z, where a day without an
    observation repeats the day before, and sd = sqrt(lam / (2 - lam) (1 - (1 - lam)^(2 i))) after i
    observations, 0 before the first."""
    columns = g[:, None] if g.ndim == 1 else g
    counts = np.cumsum(~np.isnan(columns), axis=0)
    from_zero = pd.DataFrame(np.vstack([np.zeros(columns.shape[1]), columns]))
    means = from_zero.ewm(alpha=lam, adjust=False, ignore_na=True).mean().to_numpy()[1:]
    spread = np.sqrt(lam / (2.0 - lam) * (1.0 - (1.0 - lam) ** (2 * counts)))
    return means.reshape(g.shape), spread.reshape(g.shape)
