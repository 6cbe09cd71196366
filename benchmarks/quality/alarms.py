"""A score a day → incidents; and the threshold at which they come as seldom as allowed.

One rule for every way of watching: days over the threshold are one incident while they are no more than GAP
apart; one that lasts is raised afresh every AGAIN days, since nobody takes an alarm of months ago for news.
A fault is found by the first incident raised within it.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from benchmarks.quality import score
from benchmarks.quality.fleets import Judged
from benchmarks.quality.outcome import Outcome
from benchmarks.quality.score import DAY, Rate

GAP = 14  # days
AGAIN = 60  # days


@dataclass(frozen=True)
class Watched:
    """One vessel's score on the days after its baseline, beside its truth.

    days     numbers of the days that have a score, rising [n]
    score    [n]
    quiet    whether nothing is wrong yet [n]
    years    while nothing is wrong
    delays   of each fault: days from its onset to the end of the day, NaN on the days outside it [n]
    """

    days: NDArray[np.int64]
    score: NDArray[np.float64]
    quiet: NDArray[np.bool_]
    years: float
    delays: tuple[NDArray[np.float64], ...]


def watched(results: list[Judged], name: str) -> list[Watched]:
    """What a rival, by name, made of each vessel."""
    return [_watched(result, result.scores[name]) for result in results]


def _watched(result: Judged, told: pd.Series) -> Watched:
    told = told[told.index >= result.baseline_end]
    first = score.first_fault(result)
    return Watched(
        days=np.asarray((told.index - result.baseline_end.floor("D")) // DAY, dtype=np.int64),
        score=told.to_numpy(dtype=np.float64),
        quiet=np.asarray(told.index < first),
        years=score.quiet_years(result),
        delays=tuple(
            np.array(
                [score.days_after(label, day) if score.within(label, day) else np.nan for day in told.index]
            )
            for label in result.labels
        ),
    )


def raised(days: NDArray[np.int64]) -> list[int]:
    """The days on which incidents are raised, of the days over the threshold."""
    out: list[int] = []
    if not len(days):
        return out
    ends = [*np.flatnonzero(np.diff(days) > GAP) + 1, len(days)]
    begin = 0
    for end in ends:
        at = begin
        while at < end:
            out.append(int(days[at]))
            at = int(np.searchsorted(days, days[at] + AGAIN))
        begin = end
    return out


def outcomes(vessels: list[Watched], name: str, thresholds: NDArray[np.float64]) -> list[Outcome]:
    """A rival at each threshold."""
    numbers = np.zeros(len(thresholds), dtype=np.int64)
    delays = []
    for vessel in vessels:
        # thresholds with as many days over them have the same days over them
        over = np.searchsorted(np.sort(vessel.score), thresholds, side="right")
        _, one_of, which = np.unique(over, return_index=True, return_inverse=True)
        false, found = zip(*(_alone(vessel, thresholds[k]) for k in one_of), strict=True)
        numbers += np.array(false)[which]
        delays.append(np.array(found)[which])
    years = sum(vessel.years for vessel in vessels)
    each = np.column_stack(delays)
    return [
        Outcome(name, tuple(map(float, row)), Rate(int(number), years), None)
        for number, row in zip(numbers, each, strict=True)
    ]


def _alone(vessel: Watched, threshold: float) -> tuple[int, list[float]]:
    """False incidents of one vessel, and the delay of each of its faults."""
    at = np.searchsorted(vessel.days, raised(vessel.days[vessel.score > threshold])).astype(np.intp)
    delays = []
    for fault in vessel.delays:
        within = fault[at][~np.isnan(fault[at])]
        delays.append(float(within[0]) if len(within) else float("nan"))
    return int(vessel.quiet[at].sum()), delays


def ladder(vessels: list[Watched]) -> NDArray[np.float64]:
    """Thresholds from infinity down: each vessel's highest score of every fortnight, which is fine enough."""
    peaks = [
        vessel.score[part].max()
        for vessel in vessels
        for part in np.split(np.arange(len(vessel.days)), _fortnights(vessel.days))
        if len(part)
    ]
    return np.unique([*np.round(peaks, 6), np.inf])[::-1]


def _fortnights(days: NDArray[np.int64]) -> NDArray[np.intp]:
    return np.flatnonzero(np.diff(days // GAP)) + 1


def threshold(vessels: list[Watched], allowed: float) -> float:
    """The lowest threshold from which on, upwards, no more than `allowed` false incidents a vessel-year are
    raised."""
    tried = ladder(vessels)
    many = [one.false.per_year > allowed for one in outcomes(vessels, "", tried)]
    return float(tried[many.index(True) - 1 if True in many else -1])
