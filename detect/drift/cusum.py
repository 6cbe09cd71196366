"""CUSUM charts over many residuals at once.

Each column is a residual in units of its own standard deviation, a row a day. A day without an observation
(NaN) adds nothing and takes nothing away. The form is the tabular CUSUM of NIST/SEMATECH e-Handbook of
Statistical Methods, section 6.3.2.3; thresholds for it come from runlength."""

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


def one_sided(g: Array, k: npt.ArrayLike) -> Array:
    """Upper CUSUM paths, max(0, S + g - k) from S = 0.

    g: (n, m) or (n,) standardised residuals, NaN where none; k: allowance [same unit], one or one a column,
    not negative. Gives the paths in g's shape, with no NaN: a day without an observation repeats the day
    before."""
    steps = np.where(np.isnan(g), 0.0, g - np.asarray(k, dtype=np.float64))
    total = np.cumsum(steps, axis=0)
    # where the chart was last at zero, its running total was lowest
    return np.asarray(total - np.minimum(np.minimum.accumulate(total, axis=0), 0.0))
