"""One residual's daily series → what each day adds to what the days before it said.

Under no change, innovations are independent with mean 0 and standard deviation 1, however uncertain the
terms' coefficients are: each day is compared with its prediction from the days before, and the prediction's
own uncertainty is in the scale (recursive residuals of Brown, Durbin & Evans 1975, J. R. Stat. Soc. B 37,
149, here with priors on the coefficients and autocorrelated noise). So a season that the baseline has not
seen widens the scale instead of raising an alarm, and nothing looks ahead."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import linalg
from statsmodels.robust.scale import mad

from sevenppb.detect.drift import autoregression
from sevenppb.detect.drift.autoregression import Memory

Array = NDArray[np.float64]

BLOCK = 64  # days that are whitened in one go; more or fewer change nothing but the time
GUESSED_DAYS = 6  # of which the guess of a middling memory weighs as much as so many days of the baseline
FLAT = 1.0e3  # prior standard deviation, in units of the noise, of a coefficient that nothing is known of


@dataclass(frozen=True)
class Noise:
    """Daily noise: standard deviation `sd` of one day, lag-one autocorrelation `phi`; `doubt`, the variance of the
    logarithm of its long-run standard deviation sd sqrt((1 + phi) / (1 - phi)) as estimated, 0 where it is known."""

    sd: float
    phi: float
    doubt: float = 0.0


@dataclass(frozen=True)
class _Block:
    """Some days in a row [B], against what the days before them have taught of the m coefficients: their `columns`
    [B, m], `unit` [B, B] which turns what those days' prediction leaves into innovations (the inverse of a Cholesky
    factor), and `gain` [m, B], what each innovation teaches."""

    rows: slice
    columns: Array
    unit: Array
    gain: Array


@dataclass(frozen=True)
class Whitener:
    """The causal linear map from the days that have a reading to innovations: memory takes out what a day remembers of
    the day before, and `blocks` what the coefficients of the terms have been learned to be by then. `columns` [n, m]
    are the terms as the memory leaves them, times their prior standard deviations `spread` [m]; the last of them are
    steps at the rows `fresh`."""

    memory: Memory
    blocks: tuple[_Block, ...]
    columns: Array
    terms: Array
    spread: Array
    fresh: tuple[int, ...]

    @property
    def days(self) -> NDArray[np.intp]:
        """Row numbers of the days with a reading [n]."""
        return self.memory.days

    def __call__(self, series: Array, count: int | None = None) -> Array:
        """Innovations of one or more series (all days, or days × m) at the first `count` days with readings (all)."""
        out = self.memory.innovations(series[self.days])[:count]
        learned: Array | float = 0.0
        for block in self.blocks:
            here = out[block.rows]
            if not len(here):
                break
            n = len(here)
            known = block.columns[:n] @ learned if block.rows.start else 0.0
            here[:] = block.unit[:n, :n] @ (here - known)
            learned = learned + block.gain[:, :n] @ here
        return out

    def response(self) -> Array:
        """What a lasting shift of 1 adds to each innovation once it is there [n], what is learned of it since aside."""
        scale = [np.diag(block.unit) for block in self.blocks]
        return np.asarray(self.memory.innovations(np.ones(len(self.days))) * np.concatenate([[], *scale]))

    def rest(self, series: Array, known: Array, end: int) -> Array:
        """The series less what the terms say, their coefficients estimated beside the `known` part from the days
        before row `end`; all days, NaN where there is no reading or from `end` on."""
        value, _ = self.coefficients(series - known, end)
        count = int(np.searchsorted(self.days, end))
        there = self.days[:count]
        out = np.full(len(series), np.nan)
        out[there] = series[there] - self.terms[there] @ value
        return out

    def coefficients(self, series: Array, end: int) -> tuple[Array, Array]:
        """The terms' coefficients with standard errors [m], from the days before row `end` and their prior."""
        count = int(np.searchsorted(self.days, end))
        rows, columns = self.memory.innovations(series[self.days])[:count], self.columns[:count]
        covariance = np.linalg.inv(columns.T @ columns + np.eye(columns.shape[1]))
        value = self.spread * (covariance @ (columns.T @ rows))
        return value, self.spread * np.sqrt(np.diag(covariance))


def whitener(
    present: NDArray[np.bool_],
    terms: Array,
    prior: Array,
    noise: Noise,
    weight: Array,
    fresh: tuple[int, ...] = (),
) -> Whitener:
    """Whitener of a daily series.

    present  days with a reading, bool [days]
    terms    [days, m] columns whose coefficients are unknown; prior [m] their standard deviations in
             the series' unit (infinite: nothing known)
    weight   [days] a day's standard deviation over the usual one (few hours: larger)
    fresh    rows from each of which on the level is new, nothing being known of it
    """
    steps = (np.arange(len(present))[:, None] >= np.array(fresh, dtype=int)[None, :]).astype(float)
    terms, prior = np.column_stack([terms, steps]), np.append(prior, np.full(len(fresh), np.inf))
    memory = autoregression.memory(np.where(present, 0.0, np.nan), noise.sd * weight, noise.phi)
    spread = np.minimum(prior, FLAT * noise.sd)
    columns = memory.innovations(terms[memory.days]) * spread
    return Whitener(memory, tuple(_blocks(columns)), columns, terms, spread, fresh)


def _blocks(columns: Array) -> Iterator[_Block]:
    """Recursive least squares, BLOCK days at a time, from coefficients of mean 0 and variance 1."""
    doubt = np.eye(columns.shape[1])
    for start in range(0, len(columns), BLOCK):
        here = columns[start : start + BLOCK]
        lower = np.linalg.cholesky(here @ doubt @ here.T + np.eye(len(here)))
        unit = linalg.solve_triangular(lower, np.eye(len(here)), lower=True, check_finite=False)
        gain = doubt @ here.T @ unit.T
        doubt = doubt - gain @ gain.T
        yield _Block(slice(start, start + len(here)), here, unit, gain)


def estimate_noise(series: Array, terms: Array, prior: Array, block: int = 14) -> Noise:
    """Noise of a daily series over the baseline, from residuals of blocks that the fit did not see.

    series [days], NaN where there is no reading or the day is no healthy one; terms [days, m]. Residuals of the fit
    itself are too small and too white; leaving out `block` days at a time shows what the expected value is worth on
    days it has not seen."""
    days = np.flatnonzero(~np.isnan(series))
    series, terms, n = series[days], terms[days], len(days)
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
    lag = _lag_one(clipped, np.diff(days) == 1) if moves else 0.0
    # A short series says little of its autocorrelation: shrunk towards 0.5 as if by a few more days, and
    # corrected for the known bias of order 1/n (Kendall 1954, Biometrika 41, 403).
    phi = (n * (lag + (1 + 3 * lag) / n) + GUESSED_DAYS * 0.5) / (n + GUESSED_DAYS)
    phi = float(np.clip(phi, 0.0, 0.95))
    # the innovations' size is uncertain by 1/2n, and 1 - phi, relative to itself, by (1 + phi) / (1 - phi) / n
    return Noise(
        sd=max(float(np.std(clipped)), 1e-9),
        phi=phi,
        doubt=(0.5 + (1.0 + phi) / (1.0 - phi)) / n if moves else 0.0,
    )


def _lag_one(values: Array, next_day: NDArray[np.bool_]) -> float:
    """Correlation of one day with the next (Yule and Walker), from the pairs that are a day apart: across a gap less
    is left of it."""
    pairs = (values[1:] * values[:-1])[next_day]
    return float(pairs.sum() / (len(pairs) + 1) / np.mean(values**2))
