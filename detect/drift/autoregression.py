"""Noise in which a day remembers the day before, with days missing: what each observed day adds."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Memory:
    """Innovations of observed days: own[i] * value[i] - before[i] * value[i - 1] is independent in time and
    of unit variance. `days` are the row numbers of the observed days, `gap` the days since the last one (1
    for the first)."""

    days: npt.NDArray[np.intp]
    gap: npt.NDArray[np.intp]
    own: Array
    before: Array

    def innovations(self, rows: Array) -> Array:
        """rows: values of the observed days, (n,) or (n, m)."""
        shape = (-1, 1) if rows.ndim > 1 else (-1,)
        out = self.own.reshape(shape) * rows
        out[1:] -= self.before[1:].reshape(shape) * rows[:-1]
        return out


def memory(y: Array, sd: npt.ArrayLike, phi: float) -> Memory:
    """Of a daily series y (NaN where not observed) whose noise has this standard deviation, one or one a day
    [unit of y], and this correlation of one day with the next, in [0, 1)."""
    days = np.flatnonzero(~np.isnan(y))
    spread = np.broadcast_to(np.asarray(sd, dtype=np.float64), y.shape)[days]
    gap = np.diff(days, prepend=days[:1] - 1)
    kept = phi**gap
    kept[:1] = 0.0
    fresh = np.sqrt(1.0 - kept**2)
    return Memory(days, gap, 1.0 / (spread * fresh), kept / (np.append(1.0, spread[:-1]) * fresh))
