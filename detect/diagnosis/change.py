"""An alarm → onset, shape and size of the change in every residual, by generalised least squares.

Every residual is fitted with the same course in time (a step or a ramp from the onset on) beside its uncertain
seasonal terms and autocorrelated noise, so an effect's standard error holds what the season may explain.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sevenppb.detect.drift.innovations import Whitener
from sevenppb.detect.expected import Days

Array = NDArray[np.float64]

RAMPS = (21, 42, 75, 120, 180, 270)  # days to full that are tried, besides "still growing on the last day"


@dataclass(frozen=True)
class Change:
    """`course` [n]: 0 before the onset, 1 at full. Effects [F] on the test scale at full (or on the last day, where
    the ramp is still growing), with standard errors. Rows of Days throughout."""

    shape: str
    onset: int
    onset_low: int
    onset_high: int
    full: int
    course: Array
    effect: Array
    error: Array


def fit_change(days: Days, white: list[Whitener], since: int, alarm: int, end: int) -> Change:
    """The most likely change that began after row `since` and before `alarm`, from the rows before `end`."""
    n = len(days.index)
    onsets = np.arange(max(since - 10, alarm - 330, 5), max(alarm - 1, since + 1))
    coarse = onsets[:: max(1, len(onsets) // 60)]
    trials = _trials(coarse, end)
    weight, _ = _evidence(days, white, _courses(trials, n, end), end)
    best = trials[int(np.argmax(weight))]
    near = onsets[abs(onsets - best[0]) <= 2 * max(1, len(onsets) // 60)]
    fine = sorted({*trials, *_trials(near, end)})
    courses = _courses(fine, n, end)
    weight, _ = _evidence(days, white, courses, end)
    # Ramps have two unknown dates, a step one: a step stands for all its neighbours.
    posterior = np.exp(weight - weight.max())
    onset, full = fine[int(np.argmax(weight))]
    low, high = _interval(np.array([t[0] for t in fine]), posterior)
    course = _courses([(onset, full)], n, end)
    _, (effect, error) = _evidence(days, white, course, end)
    return Change(
        shape="step" if full - onset <= 3 else "ramp",
        onset=int(onset),
        onset_low=min(low, int(onset)),
        onset_high=max(high, int(onset)),
        full=int(full),
        course=course[:, 0],
        effect=effect[:, 0],
        error=error[:, 0],
    )


def _trials(onsets: NDArray[np.intp], end: int) -> list[tuple[int, int]]:
    out = []
    for onset in onsets:
        out.append((int(onset), int(onset)))
        out.extend((int(onset), int(onset + length)) for length in RAMPS if onset + length < end - 7)
        if end - 1 - onset > 14:
            out.append((int(onset), end - 1))
    return out


def _courses(trials: list[tuple[int, int]], n: int, end: int) -> Array:
    rows = np.arange(n, dtype=float)[:, None]
    onset = np.array([t[0] for t in trials], dtype=float)[None, :]
    length = np.maximum(np.array([t[1] - t[0] for t in trials], dtype=float), 1.0)[None, :]
    return np.clip((rows - onset + 1.0) / length, 0.0, 1.0)


def _evidence(
    days: Days, white: list[Whitener], courses: Array, end: int
) -> tuple[Array, tuple[Array, Array]]:
    """Log likelihood gain of each course, summed over features; effects and errors [F, courses]."""
    gain = np.zeros(courses.shape[1])
    effect, error = np.zeros((len(white), courses.shape[1])), np.full((len(white), courses.shape[1]), np.inf)
    for f, w in enumerate(white):
        seen = int(np.searchsorted(w.days, end))
        if seen < 10:
            continue
        columns = np.column_stack([days.residual[:, f], courses])
        value = w(columns)[:seen]
        y, h = value[:, 0], value[:, 1:]
        norm = np.einsum("nc,nc->c", h, h)
        ok = norm > 1e-12
        effect[f, ok] = (h[:, ok].T @ y) / norm[ok]
        error[f, ok] = 1.0 / np.sqrt(norm[ok])
        z = effect[f] / error[f]
        gain += 0.5 * z**2
    return gain, (effect, error)


def _interval(onsets: NDArray[np.intp], posterior: Array) -> tuple[int, int]:
    """The onset's central 90 %."""
    order = np.argsort(onsets, kind="stable")
    share = np.cumsum(posterior[order]) / posterior.sum()
    return (
        int(onsets[order][np.searchsorted(share, 0.05)]),
        int(onsets[order][min(np.searchsorted(share, 0.95), len(order) - 1)]),
    )
