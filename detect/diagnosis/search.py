"""Days and signatures → alarms in the order a daily watch would have raised them, and the charts' heights.

After an alarm every residual learns its new level afresh, so that one change is one alarm (a ramp that goes on raises
another) and a second fault is seen beside the first. While it learns, only what began a week later or
more counts: the change that was told may still go on. Everything here is causal: cutting the last days off cuts their
alarms off and changes nothing else.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sevenppb.detect.diagnosis import change as changes
from sevenppb.detect.diagnosis.change import Change
from sevenppb.detect.diagnosis.signatures import Cause, Signatures
from sevenppb.detect.drift import innovations, watch
from sevenppb.detect.drift.innovations import Whitener
from sevenppb.detect.expected import Days
from sevenppb.detect.settings import Settings

Array = NDArray[np.float64]

GROWN = 1.25  # a chart refused as not credible is judged again when it has grown by this factor
REST = 3  # days after a refusal before the charts are looked at again
SETTLED = 7  # days of a new level, before which what goes on of its change can't be told from another
MOST_ALARMS = 12  # per vessel; more say that the vessel is not steady, not that it has more faults


@dataclass(frozen=True)
class Alarm:
    """`day`: row of Days on which a chart crossed; `since`: row from which the residuals' levels were held as learned;
    `change`: what had changed as far as could be told that day."""

    day: int
    since: int
    change: Change


@dataclass(frozen=True)
class Break:
    """From row `day` on, the level of the features where `features` [F] is True is new: work was done, or an alarm
    was raised and what follows is held against the new level. Days from row `moving` to then (None: no such days)
    are neither the old level nor the new: nothing is learned from them."""

    day: int
    features: NDArray[np.bool_]
    moving: int | None = None


@dataclass(frozen=True)
class Mended(Break):
    """A fresh level by work on row `done`, which put the causes `mends` right."""

    done: int = 0
    mends: frozenset[Cause] = frozenset()


@dataclass(frozen=True)
class Search:
    """Alarms, chart heights [n, J] (NaN before the watch), the correlation [F, F] of innovations, the mean score
    [n, J] of each candidate's step, and the charts' thresholds; `raised`, by what factor those are above theory's
    because the baseline's own days ask for it; `white`, what whitens the residuals where nothing was found."""

    alarms: tuple[Alarm, ...]
    heights: Array
    correlation: Array
    lengths: Array
    charts: watch.Charts
    raised: float
    white: tuple[Whitener, ...]


def whiteners(days: Days, breaks: tuple[Break, ...]) -> tuple[Whitener, ...]:
    """One per feature, with a step of unknown size at each break."""
    out = []
    for f in range(len(days.features)):
        touching = [b for b in breaks if b.features[f]]
        still = days.present[:, f].copy()
        for b in touching:
            still[b.day if b.moving is None else b.moving : b.day] = False
        fresh = tuple(b.day for b in touching)
        noise, weight = days.noise[f], days.weight[:, f]
        out.append(innovations.whitener(still, days.terms, days.prior[f], noise, weight, fresh))
    return tuple(out)


def innovations_of(days: Days, white: tuple[Whitener, ...]) -> tuple[Array, Array]:
    """Innovations [n, F] (NaN where no reading) and what a lasting shift of 1 adds to each of them [n, F]."""
    shape = days.residual.shape
    values, response = np.full(shape, np.nan), np.zeros(shape)
    for f, w in enumerate(white):
        values[w.days, f] = w(days.residual[:, f])
        response[w.days, f] = w.response()
    return values, response


Judge = Callable[[Change, Array], bool]


def search(
    days: Days, signed: Signatures, work: tuple[Break, ...], settings: Settings, credible: Judge
) -> Search:
    """Alarms of the watch from the end of the baseline on. The baseline has days: without one, raises ValueError.

    credible   of an alarm's change and the innovations' correlation: was something rather than nothing the likelier?
               If not, the level is not learned afresh (else a slow ramp would be learned away bit by bit), and the
               alarm is judged again when its chart has grown
    """
    if not days.baseline.any():
        raise ValueError("no day is in the baseline: nothing is there to watch against")
    start = days.watched_from
    heights = np.full((len(days.index), len(signed.candidates)), np.nan)
    lengths = np.zeros_like(heights)
    breaks = work
    alarms: list[Alarm] = []
    white = sound = whiteners(days, breaks)
    values, response = innovations_of(days, white)
    correlation = watch.correlation(values[days.baseline])
    healthy = days.baseline & days.present.any(axis=1)
    usual = signed.moves[healthy] * response[healthy, :, None]
    charts = watch.charts_of(
        usual,
        correlation,
        days.noise,
        settings.false_alarms,
        settings.cusum_reference,
        settings.ewma_weight,
    )
    early, _ = watch.scores(values[healthy], usual, correlation)
    raised = watch.checked(charts, early, settings.false_alarms)
    charts = charts.raised(raised)
    since = learned = start
    while len(alarms) < MOST_ALARMS and since < len(days.index):
        moves = signed.moves * response[:, :, None]
        score, length = watch.scores(values, moves, correlation)
        lengths[since:] = length[since:]
        found = None
        for rows, settled in (slice(since, learned), since + SETTLED), (slice(learned, None), -1):
            heights[rows] = watch.chart_heights(score[rows], charts)
            found = found or _first_credible(
                days, heights, rows, since, settled, white, correlation, credible
            )
        if found is None:
            break
        alarms.append(found)
        every = np.ones(len(days.features), dtype=bool)
        breaks = (*breaks, Break(found.day + 1, every, min(found.change.onset, found.day + 1)))
        since = found.day + 1
        learned = since + settings.relearn_days
        white = whiteners(days, breaks)
        values, response = innovations_of(days, white)
    return Search(tuple(alarms), heights, correlation, lengths, charts, raised, sound)


def _first_credible(
    days: Days,
    heights: Array,
    rows: slice,
    since: int,
    settled: int,
    white: tuple[Whitener, ...],
    correlation: Array,
    credible: Judge,
) -> Alarm | None:
    """The first alarm on these rows whose change began, surely, behind row `settled`."""
    limit = np.ones(heights.shape[1])
    day = rows.start
    while day < len(heights):
        over = np.flatnonzero((heights[day : rows.stop] >= limit).any(axis=1))
        if len(over) == 0:
            break
        day += int(over[0])
        seen = changes.fit_change(days, white, since, (day, day), day + 1)
        if seen.onset_low > settled and credible(seen, correlation):
            return Alarm(day, since, seen)
        limit = np.maximum(limit, GROWN * heights[day])
        day += REST
    return None
