"""Days and signatures → alarms in the order a daily watch would have raised them, and the charts' heights.

After an alarm every residual learns its new level afresh, so that one change is one alarm (a ramp that goes on raises
another) and a second fault is seen beside the first. Everything here is causal: cutting the last days off cuts their
alarms off and changes nothing else.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sevenppb.detect.diagnosis.signatures import Candidate, Signatures
from sevenppb.detect.drift import innovations, watch
from sevenppb.detect.drift.innovations import Whitener
from sevenppb.detect.expected import Days
from sevenppb.detect.settings import Settings

Array = NDArray[np.float64]

MOST_ALARMS = 12  # per vessel; more say that the vessel is not steady, not that it has more faults


@dataclass(frozen=True)
class Alarm:
    """`day`: row of Days on which the chart crossed; `since`: row from which the change can have begun."""

    day: int
    since: int
    candidate: Candidate
    height: float


@dataclass(frozen=True)
class Break:
    """From row `day` on, the level of the features where `features` [F] is True is new: work was done, or an alarm
    was raised and what follows is held against the new level."""

    day: int
    features: NDArray[np.bool_]


@dataclass(frozen=True)
class Search:
    """Alarms, chart heights [n, J] (NaN before the watch), the correlation [F, F] of innovations, the mean score
    [n, J] of each candidate's step, and the charts' thresholds."""

    alarms: tuple[Alarm, ...]
    heights: Array
    correlation: Array
    lengths: Array
    charts: watch.Charts


def whiteners(days: Days, breaks: tuple[Break, ...]) -> list[Whitener]:
    """One per feature, with a step of unknown size at each break."""
    out = []
    for f in range(len(days.features)):
        own = [b.day for b in breaks if b.features[f]]
        steps = (np.arange(len(days.index))[:, None] >= np.array(own, dtype=int)[None, :]).astype(float)
        terms = np.column_stack([days.terms, steps])
        prior = np.append(days.prior[f], np.full(len(own), np.inf))
        out.append(innovations.whitener(days.present[:, f], terms, prior, days.noise[f], days.weight[:, f]))
    return out


def innovations_of(days: Days, white: list[Whitener]) -> tuple[Array, Array]:
    """Innovations [n, F] (NaN where no reading) and what a lasting shift of 1 adds to each of them [n, F]."""
    shape = days.residual.shape
    values, response = np.full(shape, np.nan), np.zeros(shape)
    for f, w in enumerate(white):
        values[w.days, f] = w(days.residual[:, f])
        response[w.days, f] = (1.0 - w.decay) / w.scale / np.diag(w.lower)
    return values, response


def search(days: Days, signed: Signatures, work: tuple[Break, ...], settings: Settings) -> Search:
    """Alarms of the watch from the end of the baseline on."""
    start = int(np.flatnonzero(days.baseline)[-1]) + 1 if days.baseline.any() else len(days.index)
    heights = np.full((len(days.index), len(signed.candidates)), np.nan)
    lengths = np.zeros_like(heights)
    breaks, alarms = work, []
    values, response = innovations_of(days, whiteners(days, breaks))
    correlation = _correlation(values[days.baseline])
    charts = _charts(signed.moves[start:] * response[start:, :, None], correlation, settings)
    since = start
    for _ in range(MOST_ALARMS):
        moves = signed.moves * response[:, :, None]
        score, length = watch.scores(values, moves, correlation)
        lengths[start:] = length[start:]
        heights[start:] = watch.chart_heights(score[start:], charts)
        over = np.flatnonzero((heights[start:] >= 1.0).any(axis=1))
        if len(over) == 0:
            break
        day = start + int(over[0])
        best = int(np.argmax(heights[day]))
        alarms.append(Alarm(day, since, signed.candidates[best], float(heights[day, best])))
        breaks = (*breaks, Break(day + 1, np.ones(len(days.features), dtype=bool)))
        since = day + 1
        start = since + settings.relearn_days
        if start >= len(days.index):
            break
        values, response = innovations_of(days, whiteners(days, breaks))
    return Search(tuple(alarms), heights, correlation, lengths, charts)


def _correlation(values: Array) -> Array:
    """Correlation of one day's innovations over the baseline, shrunk a twentieth towards none: a few months can't tell a
    correlation near 1 from 1, and a difference of two residuals must not be trusted beyond that."""
    tame = np.clip(np.nan_to_num(values), -3, 3)
    size = np.sqrt(np.maximum((tame**2).sum(axis=0), 1e-9))
    raw = (tame.T @ tame) / np.outer(size, size)
    return np.asarray(0.95 * raw + 0.05 * np.eye(len(raw)))


def _charts(moves: Array, correlation: Array, settings: Settings) -> watch.Charts:
    usual = np.nan_to_num(np.nanmean(moves, axis=0)).T  # [J, F]
    half = np.linalg.cholesky(np.linalg.inv(correlation))
    unit = usual @ half
    size = np.linalg.norm(unit, axis=1)
    unit = unit[size > 1e-9] / size[size > 1e-9, None]
    return watch.charts_for(
        settings.false_alarms,
        watch.effective_directions(unit),
        settings.cusum_reference,
        settings.ewma_weight,
    )
