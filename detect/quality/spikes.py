"""Single readings that their neighbours contradict: a jump and the jump back, within at most three readings.

Steps, ramps and swings of the vessel stay: there the readings before and after disagree with each other as
well."""

import numpy as np
import numpy.typing as npt

from sevenppb.detect.quality.hourly import HOUR_US, IQR_TO_SIGMA, Floats, Hours, Ints

WIDEST = 3  # readings
FAR = 8.0  # robust standard deviations: beyond what noise reaches in ten years of minutes
_ASKED = 20_000  # readings that tell a tag's noise
_OVER_US = HOUR_US  # from a spike to the next reading that is none
_AGREE = 0.25  # of the jump's height, by which the neighbours may differ


def suspects(hours: Hours, floor: float) -> Ints:
    """The hours whose extremes lie far from their median, by `floor` [tag's unit] at least."""
    own = (hours.three_quarters - hours.quarter) / IQR_TO_SIGMA
    usual = np.nanmedian(own) if np.isfinite(own).any() else 0.0
    far = np.maximum(FAR * np.clip(own, usual, 3.0 * usual), floor)  # the spike itself may widen its hour
    return np.flatnonzero((hours.high - hours.median > far) | (hours.median - hours.low > far))


def mark(value: Floats, noise: float, floor: float, time: Ints | None = None) -> npt.NDArray[np.bool_]:
    """Which readings, in time's order, are spikes; `noise` is the tag's robust standard deviation from one
    reading to the next, `floor` the least height that matters [both in the tag's unit]. NaN is passed
    over. Readings by exception come with their `time` [us]: their spikes are over at once, and what stands longer is
    an event that was stored in few readings."""
    marked = np.zeros(len(value), dtype=np.bool_)
    real = np.flatnonzero(np.isfinite(value))
    least = max(FAR * noise, floor)
    if not (np.abs(np.diff(value[real])) > least).any():  # as a spike of any width begins
        return marked
    for width in range(1, WIDEST + 1):
        if len(real) < width + 2:
            break
        v = value[real]
        before, after = v[: -width - 1], v[width + 1 :]
        inner = np.lib.stride_tricks.sliding_window_view(v[1:-1], width)
        above = inner.min(axis=1) - np.maximum(before, after)
        below = np.minimum(before, after) - inner.max(axis=1)
        height = np.maximum(above, below)
        fits = (height > least) & (np.abs(after - before) < _AGREE * height)
        if time is not None:
            fits &= time[real[width + 1 :]] - time[real[1:-width]] <= _OVER_US
        found = np.flatnonzero(fits)
        hit = (found[:, None] + 1 + np.arange(width)).ravel()
        marked[real[hit]] = True
        real = np.delete(real, hit)
    return marked


def noise(value: Floats) -> float:
    """The robust standard deviation of one reading against the mean of its neighbours [tag's unit], from
    readings spread evenly over the whole; those that equal their neighbours say how long the tag stands, not how it
    moves."""
    step = max(len(value) // _ASKED, 1)
    apart = np.abs(value[1:-1:step] - 0.5 * (value[:-2:step] + value[2::step]))
    apart = apart[np.isfinite(apart) & (apart > 0)]
    return 1.4826 * float(np.median(apart)) if len(apart) else 0.0
