"""An alarm → onset, shape and size of the change in every residual.

First a coarse search: every residual is fitted by generalised least squares with the same course in time (a step or
a ramp) beside its uncertain seasonal terms and autocorrelated noise, and the best course's effects say which mixture of
residuals shows the change best. That mixture, one series, is then dated by drift.change, and the effects are fitted
again with the course it tells. An effect's standard error so holds what the season may explain.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from statsmodels.robust.scale import mad

from sevenppb.detect.diagnosis import by_load, odd_days
from sevenppb.detect.diagnosis.unseen_season import season_doubt
from sevenppb.detect.drift import autoregression
from sevenppb.detect.drift import change as dating
from sevenppb.detect.drift.innovations import Whitener
from sevenppb.detect.expected import Days

Array = NDArray[np.float64]

RAMPS = (30, 75, 150)  # days to full that the coarse search tries, besides "still growing on the last day"
COARSE = 45  # onsets that it tries
REACH = 330  # days before an alarm on which its change may have begun
WORSE = 4.0  # log likelihood that the dated course may lose against the coarse one
TALLEST = 15.0  # standard deviations
GUESS = 10.0  # days that a feature's noise weighs as a guess of how far it lies from a change's course
CROOKED = 0.15  # of a ramp's length, by which its onset may lie elsewhere since faults don't grow evenly
LEAST = 5  # observed days that a change needs before it can be dated


@dataclass(frozen=True)
class Change:
    """`course` [n]: 0 before the onset, 1 at full (on the last day, where a ramp is still growing). Effects [F] on the
    test scale at full, with standard errors (infinite where there are too few readings). Rows of Days throughout;
    `full` is None while a ramp still grows, and from row `end` on nothing was looked at. `by_load`: what a course gains
    in log likelihood over all others by showing above some load only, 0 where none does."""

    shape: dating.Shape
    onset: int
    onset_low: int
    onset_high: int
    full: int | None
    course: Array
    effect: Array
    error: Array
    end: int
    by_load: float = 0.0


@dataclass(frozen=True)
class _Read:
    """What a change is read from: residuals without odd days [n, F], each with its whitener, from row `first` on, where
    it may begin, and before row `end`."""

    days: Days
    residual: Array
    white: tuple[Whitener, ...]
    first: int
    end: int


@dataclass(frozen=True)
class _Weighed:
    """What the residuals tell of courses: the log likelihood gain of each, summed over features [courses]; effects and
    errors, and by what factor the days from `first` on lie further from the course than their noise [F, courses]."""

    gain: Array
    effect: Array
    error: Array
    misfit: Array


def fit_change(
    days: Days,
    white: tuple[Whitener, ...],
    since: int,
    alarms: tuple[int, int],
    end: int,
) -> Change:
    """The most likely change that began on row `since` or later, at most REACH before the first of its `alarms` (rows
    of the first and the last) and before the last, from the rows before `end`.

    No plant moves in a straight line, so what a large change leaves of its course is shape, not noise: the features'
    noise is but a guess of it, that weighs GUESS days."""
    first, last = max(since, alarms[0] - REACH), max(alarms[1] - 1, since + 1)
    onsets = np.unique(np.linspace(first, last, COARSE).astype(int))
    trials = _trials(onsets, end)
    odd = odd_days.odd_days(days, white, end, told=since > days.watched_from)
    courses = np.column_stack(
        [_courses(trials, len(days.index), end), *odd_days.on_and_off(days, odd, (first, last))]
    )
    read = _Read(days, odd_days.without(days, odd), white, first, end)
    coarse = _evidence(read, courses)
    best = int(np.argmax(coarse.gain))
    some = [k for k, (onset, _) in enumerate(trials) if onset in onsets[:: by_load.EVERY]]
    with_load = _evidence(read, by_load.gated(days, courses[:, some], slice(first, end))).gain
    gained = max(float(with_load.max(initial=0.0) - coarse.gain[: len(trials)].max()), 0.0)

    def coarsely(shape: dating.Shape, onset: int, low: int, high: int, full: int | None) -> Change:
        told = (courses[:, best], coarse.effect[:, best], coarse.error[:, best])
        return _with_doubt(read, Change(shape, onset, low, high, full, *told, end, gained))

    if best >= len(trials):
        onset = int(np.flatnonzero(courses[:, best])[0])
        return coarsely("intermittent", onset, max(onset - 1, 0), onset, onset)
    mixed = _mixture(read, courses, coarse, best)
    if (~np.isnan(mixed.series[first:])).sum() < LEAST:
        onset = trials[best][0]
        return coarsely("step", onset, first, last, onset)
    # A move of a hundred standard deviations is dated no better than one of TALLEST, only more slowly.
    height = float(np.nanmax(abs(mixed.series)))
    sd = max(mixed.sd, height / TALLEST)
    told = dating.fit(mixed.series, sd, mixed.phi, first, 0.3 * sd)
    onset = min(told.onset, last)
    full = end - 1 if told.full is None else told.full
    course = _courses([(onset, onset if told.shape != "ramp" else full)], len(days.index), end, told.bent)
    dated = _evidence(read, course)
    # A day's mean shows only what the better part of the day has seen: a change first seen on one may have begun late
    # on the day before. And a ramp's foot is only as sure as its straightness.
    bent = round(CROOKED * (full - onset)) if told.shape == "ramp" else 0
    low = max(min(told.low, onset) - 1 - bent, first - 1, 0)
    high = min(max(told.high, onset) + bent, end - 1)
    if dated.gain[0] < coarse.gain[best] - WORSE:
        # The mixture misled: the coarse course tells all residuals together better.
        onset, full = trials[best]
        step = full == onset
        whole = None if full == end - 1 and not step else full
        return coarsely("step" if step else "ramp", onset, min(low, onset), max(high, onset), whole)
    clear = Change(
        shape=told.shape,
        onset=onset,
        onset_low=low,
        onset_high=high,
        full=told.full if told.shape == "ramp" else onset,
        course=course[:, 0],
        effect=dated.effect[:, 0],
        error=dated.error[:, 0],
        end=end,
        by_load=gained,
    )
    return _with_doubt(read, clear)


@dataclass(frozen=True)
class _Mixture:
    """One series [n], of standard deviation `sd` and lag-one autocorrelation `phi`."""

    series: Array
    sd: float
    phi: float


def _mixture(read: _Read, courses: Array, weighed: _Weighed, best: int) -> _Mixture:
    """The residuals, less what the seasonal terms say beside the change, weighted as they show it."""
    days, course = read.days, courses[:, best]
    effect, error, misfit = (part[:, best] for part in (weighed.effect, weighed.error, weighed.misfit))
    clear = abs(np.nan_to_num(effect / error))
    misfit = misfit / misfit[clear >= 0.3 * clear.max()].min()
    z = clear / misfit
    sd = misfit * np.array([noise.sd for noise in days.noise])
    n = len(days.index)
    total, made, weight = np.zeros(n), np.zeros(n), np.zeros(n)
    phi = 0.0
    for f in np.flatnonzero(abs(z) >= 0.3 * abs(z).max()):
        known = course * effect[f]
        rest = read.white[f].rest(read.residual[:, f], known, read.end) / sd[f]
        there = ~np.isnan(rest)
        share = effect[f] / sd[f] * (1 - days.noise[f].phi)
        total[there] += share * rest[there]
        made[there] += share * known[there] / sd[f]
        weight[there] += share**2
        phi = max(phi, days.noise[f].phi)
    scale = np.where(weight > 0, np.sqrt(np.maximum(weight, 1e-12)), np.nan)
    return _Mixture(total / scale, max(_scatter((total - made) / scale, phi), 1.0), phi)


def _scatter(left: Array, phi: float) -> float:
    """Standard deviation of what a change leaves of a series, as its innovations have it, outliers aside: residuals
    that move together, or remember less than the slowest of them, scatter more than each of its own noise says."""
    memory = autoregression.memory(left, 1.0, phi)
    added = memory.innovations(left[memory.days])
    return float(np.std(np.clip(added, -3.0 * mad(added), 3.0 * mad(added)))) if len(added) else 0.0


def _trials(onsets: NDArray[np.intp], end: int) -> list[tuple[int, int]]:
    out = []
    for onset in onsets:
        out.append((int(onset), int(onset)))
        out.extend((int(onset), int(onset + length)) for length in RAMPS if onset + length < end - 7)
        if end - 1 - onset > 14:
            out.append((int(onset), end - 1))
    return out


def _courses(trials: list[tuple[int, int]], n: int, end: int, bent: dating.Bent = dating.STRAIGHT) -> Array:
    """Courses [n, trials]; after `end` they stay as they are."""
    rows = np.minimum(np.arange(n, dtype=float), end - 1)[:, None]
    onset = np.array([t[0] for t in trials], dtype=float)[None, :]
    length = np.array([t[1] - t[0] for t in trials], dtype=float)[None, :] + 1.0
    straight = np.clip((rows - onset + 1.0) / length, 0.0, 1.0)
    return dating.along(straight, bent)


def _with_doubt(read: _Read, change: Change) -> Change:
    doubt = season_doubt(read.days, read.white, change.course, read.residual, change.end)
    return replace(change, error=np.hypot(change.error, doubt))


def _evidence(read: _Read, courses: Array) -> _Weighed:
    gain = np.zeros(courses.shape[1])
    shape = (len(read.white), courses.shape[1])
    effect, error, misfit = np.zeros(shape), np.full(shape, np.inf), np.ones(shape)
    for f, w in enumerate(read.white):
        seen = int(np.searchsorted(w.days, read.end))
        if seen < 10:
            continue
        value = w(np.column_stack([read.residual[:, f], courses]), seen)
        y, h = value[:, 0], value[:, 1:]
        norm = np.einsum("nc,nc->c", h, h)
        ok = norm > 1e-12
        effect[f, ok] = (h[:, ok].T @ y) / norm[ok]
        error[f, ok] = 1.0 / np.sqrt(norm[ok])
        after = y[int(np.searchsorted(w.days, read.first)) :]
        won = (effect[f] / error[f]) ** 2
        total, count = float(after @ after) + GUESS, len(after) + GUESS
        left = np.maximum(total - won, GUESS)
        gain += 0.5 * count * np.log(total / left)
        misfit[f] = np.sqrt(np.maximum(left / count, 1.0))
    return _Weighed(gain, effect, error, misfit)
