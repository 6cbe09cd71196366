"""One residual's daily series → what each day adds to what the days before it said.

Under no change, innovations are independent with mean 0 and standard deviation 1, however uncertain the
terms' coefficients are: each day is compared with its prediction from the days before, and the prediction's
own uncertainty is in the scale (recursive residuals of Brown, Durbin & Evans 1975, J. R. Stat. Soc. B 37,
149, here with priors on the coefficients and autocorrelated noise). So a season that the baseline has not
seen widens the scale instead of raising an alarm, and nothing looks ahead."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import linalg
from statsmodels.regression.linear_model import yule_walker
from statsmodels.robust.scale import mad

from sevenppb.detect.drift import autoregression
from sevenppb.detect.drift.autoregression import Memory

Array = NDArray[np.float64]

FLAT = 1.0e3  # prior standard deviation, in units of the noise, of a coefficient that nothing is known of


@dataclass(frozen=True)
class Noise:
    """Daily noise: standard deviation `sd` of one day, lag-one autocorrelation `phi`."""

    sd: float
    phi: float


@dataclass(frozen=True)
class Whitener:
    """The causal linear map from the days that have a reading to innovations: memory takes out what a day remembers of
    the day before, and solving with `lower` [n, n] what the coefficients of the terms have been learned to be.
    `columns` [n, m] are the terms as the memory leaves them, times their prior standard deviations `spread` [m]."""

    memory: Memory
    lower: Array
    columns: Array
    terms: Array
    spread: Array

    @property
    def days(self) -> NDArray[np.intp]:
        """Row numbers of the days with a reading [n]."""
        return self.memory.days

    def __call__(self, series: Array, count: int | None = None) -> Array:
        """Innovations of one or more series (all days, or days × m) at the first `count` days with readings (all)."""
        rows = self.memory.innovations(series[self.days])[:count]
        lower = self.lower[:count, :count]
        return np.asarray(linalg.solve_triangular(lower, rows, lower=True, check_finite=False))

    def response(self) -> Array:
        """What a lasting shift of 1 adds to each innovation once it is there [n], what is learned of it since aside."""
        ones = np.ones(len(self.days))
        return np.asarray(self.memory.innovations(ones) / np.diag(self.lower))

    def rest(self, series: Array, known: Array, end: int) -> Array:
        """The series less what the terms say, their coefficients estimated beside the `known` part from the days
        before row `end`; all days, NaN where there is no reading or from `end` on."""
        count = int(np.searchsorted(self.days, end))
        rows = self.memory.innovations((series - known)[self.days])[:count]
        columns = self.columns[:count]
        gram = columns.T @ columns + np.eye(columns.shape[1])
        value = self.terms[self.days[:count]] @ (self.spread * np.linalg.solve(gram, columns.T @ rows))
        out = np.full(len(series), np.nan)
        out[self.days[:count]] = series[self.days[:count]] - value
        return out


def whitener(present: NDArray[np.bool_], terms: Array, prior: Array, noise: Noise, weight: Array) -> Whitener:
    """Whitener of a daily series.

    present  days with a reading, bool [days]
    terms    [days, m] columns whose coefficients are unknown; prior [m] their standard deviations in
             the series' unit (infinite: nothing known)
    weight   [days] a day's standard deviation over the usual one (few hours: larger)
    """
    memory = autoregression.memory(np.where(present, 0.0, np.nan), noise.sd * weight, noise.phi)
    spread = np.minimum(prior, FLAT * noise.sd)
    columns = memory.innovations(terms[memory.days]) * spread
    covariance = columns @ columns.T
    covariance[np.diag_indices_from(covariance)] += 1.0
    lower = linalg.cholesky(covariance, lower=True, check_finite=False)
    return Whitener(memory, lower, columns, terms, spread)


def estimate_noise(series: Array, terms: Array, prior: Array, block: int = 14) -> Noise:
    """Noise of a daily series over the baseline, from residuals of blocks that the fit did not see.

    series [n] and terms [n, m] without NaN. Residuals of the fit itself are too small and too white; leaving
    out `block` days at a time shows what the expected value is worth on days it has not seen."""
    n = len(series)
    guess = float(mad(series)) + 1e-9
    sd = np.minimum(prior, FLAT * guess)
    out = np.zeros(n)
    smooth = terms * sd
    scale = guess
    for _ in range(2):  # the ridge needs the noise it estimates
        inverse = np.linalg.inv(smooth.T @ smooth / scale**2 + np.eye(terms.shape[1]))
        hat = smooth @ inverse @ smooth.T / scale**2
        inner = series - hat @ series
        for start in range(0, n, block):
            rows = slice(start, min(start + block, n))
            own = np.eye(rows.stop - start) - hat[rows, rows]
            out[rows] = np.linalg.lstsq(own, inner[rows], rcond=1e-6)[0]
        scale = max(float(mad(out)), 1e-9)
    clipped = np.clip(out, -3 * scale, 3 * scale)
    moves = clipped.any()  # a reading that is typed in once and stays has no noise
    lag = (
        float(yule_walker(clipped, order=1, method="mle", demean=False, result_object=True).rho[0])
        if moves
        else 0.0
    )
    # A short series says little of its autocorrelation: shrunk towards 0.5 as if by 20 more days, and
    # corrected for the known bias of order 1/n (Kendall 1954, Biometrika 41, 403).
    phi = (n * (lag + (1 + 3 * lag) / n) + 20 * 0.5) / (n + 20)
    return Noise(sd=max(float(np.std(clipped)), 1e-9), phi=float(np.clip(phi, 0.0, 0.9)))
