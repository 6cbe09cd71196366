"""Readings → what each hour holds: order statistics and counts, for all hours at once."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

HOUR_US = 3_600_000_000
IQR_TO_SIGMA = 1.349  # interquartile range of the normal distribution in standard deviations

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Hours:
    """One tag by hour, arrays of one length: lowest, quartiles and highest of the hour's readings (NaN where
    it has none) and how many there are. Quantiles are interpolated linearly between order statistics."""

    low: Floats
    quarter: Floats
    median: Floats
    three_quarters: Floats
    high: Floats
    count: Ints

    @property
    def spread(self) -> Floats:
        """Robust standard deviation inside the hour; NaN where it holds fewer than 4 readings."""
        return np.where(self.count >= 4, (self.three_quarters - self.quarter) / IQR_TO_SIGMA, np.nan)

    def without(self, hours: npt.NDArray[np.bool_]) -> "Hours":
        """The same with some hours emptied."""
        low, quarter, median, three_quarters, high = (
            np.where(hours, np.nan, a)
            for a in (self.low, self.quarter, self.median, self.three_quarters, self.high)
        )
        return Hours(low, quarter, median, three_quarters, high, np.where(hours, 0, self.count))

    def replaced(self, where: Ints, by: "Hours") -> "Hours":
        """The same with the hours at `where` taken from `by` (arrays of where's length)."""
        parts = []
        for name in ("low", "quarter", "median", "three_quarters", "high", "count"):
            array = getattr(self, name).copy()
            array[where] = getattr(by, name)
            parts.append(array)
        return Hours(*parts)

    def padded(self, before: int, after: int) -> "Hours":
        """The same with empty hours before and after."""
        if before == after == 0:
            return self
        parts = []
        for name in ("low", "quarter", "median", "three_quarters", "high", "count"):
            array = getattr(self, name)
            parts.append(np.pad(array, (before, after), constant_values=0 if name == "count" else np.nan))
        return Hours(*parts)


def edges(time: Ints, first_hour: int, hours: int) -> Ints:
    """Where each hour begins in ascending times [us]: `hours` + 1 positions from hour number `first_hour`
    on."""
    return np.searchsorted(time, (first_hour + np.arange(hours + 1, dtype=np.int64)) * HOUR_US)


def summarise(value: Floats, edge: Ints) -> Hours:
    """The hours of readings in time's order, hour i being value[edge[i]:edge[i+1]]. NaN is no reading.

    Hours of one length are sorted together as rows of a matrix: a hundred times faster than one by one."""
    sizes = np.diff(edge)
    result = [np.full(len(sizes), np.nan) for _ in range(5)]
    count = np.zeros(len(sizes), dtype=np.int64)
    for size in np.unique(sizes):
        if size == 0:
            continue
        rows = np.flatnonzero(sizes == size)
        start, stop = edge[rows[0]], edge[rows[-1] + 1]
        if (stop - start) == size * len(rows):  # they stand side by side
            matrix = np.sort(value[start:stop].reshape(len(rows), size), axis=1)
        else:
            matrix = np.sort(value[edge[rows][:, None] + np.arange(size)], axis=1)
        count[rows] = found = _numbers(matrix)
        for array, part in zip(result, _order_statistics(matrix, found), strict=True):
            array[rows] = part
    low, quarter, median, three_quarters, high = result
    return Hours(low, quarter, median, three_quarters, high, count)


def _numbers(matrix: Floats) -> Ints:
    """How many of each sorted row are numbers: NaN sorts last."""
    width = matrix.shape[1]
    found = np.full(len(matrix), width, dtype=np.int64)
    short = np.flatnonzero(np.isnan(matrix[:, -1]))
    found[short] = width - np.isnan(matrix[short]).sum(axis=1)
    return found


def _order_statistics(matrix: Floats, count: Ints) -> list[Floats]:
    """Lowest, quartiles, highest of the first `count` of each sorted row."""
    row = np.arange(len(matrix))
    last = np.maximum(count - 1, 0)
    parts = []
    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        position = share * last
        below = np.floor(position).astype(np.int64)
        low, high = matrix[row, below], matrix[row, np.minimum(below + 1, last)]
        share_above = position - below
        with np.errstate(invalid="ignore"):  # infinities are cut later, and must come out here as such
            between = np.where(share_above > 0, low + share_above * (high - low), low)
        parts.append(np.where(count > 0, between, np.nan))
    return parts


def within(edge: Ints, which: Ints) -> tuple[Ints, Ints]:
    """The readings of some hours: their positions, and these hours' own edges among them."""
    sizes = edge[which + 1] - edge[which]
    own = np.concatenate([[0], np.cumsum(sizes)])
    positions = np.repeat(edge[which] - own[:-1], sizes) + np.arange(own[-1])
    return positions, own
