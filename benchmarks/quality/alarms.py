"""A score a day → incidents; and the threshold at which they come as seldom as allowed.

One rule for every way of watching: days over the threshold are one incident while they are no more than GAP
apart; one that lasts is raised afresh every AGAIN days, since nobody takes an alarm of months ago for news.
A fault is found by the first incident raised within it.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from benchmarks.quality import score
from benchmarks.quality.fleets import Judged
from benchmarks.quality.score import Rate

GAP = pd.Timedelta(days=14)
AGAIN = pd.Timedelta(days=60)


def raised(days: pd.Series, threshold: float) -> list[pd.Timestamp]:
    """The days on which incidents are raised."""
    out: list[pd.Timestamp] = []
    last: pd.Timestamp | None = None
    for day in days.index[days.to_numpy() > threshold]:
        if last is None or day - last > GAP or day - out[-1] >= AGAIN:
            out.append(day)
        last = day
    return out


def watched(result: Judged, name: str) -> pd.Series:
    """A rival's score on the days after the vessel's baseline."""
    days = result.scores[name]
    return days[days.index >= result.baseline_end]


def false_rate(results: list[Judged], name: str, threshold: float) -> Rate:
    """A rival's false incidents on vessels without a fault, and on the others before their first."""
    number = sum(
        sum(day < score.first_fault(result) for day in raised(watched(result, name), threshold))
        for result in results
    )
    return Rate(number, sum(score.quiet_years(result) for result in results))


def threshold(results: list[Judged], name: str, allowed: float) -> float:
    """The lowest threshold from which on, upwards, a rival raises no more than `allowed` false incidents a
    vessel-year on vessels without a fault."""
    peaks = np.concatenate([_peaks(watched(result, name)) for result in results])
    tried = np.unique(np.round(peaks, 6))[::-1]
    best = float(tried[0])
    for value in tried:
        if false_rate(results, name, float(value)).per_year > allowed:
            break
        best = float(value)
    return best


def _peaks(days: pd.Series) -> np.ndarray:
    """A vessel's highest score of every fortnight: fine enough a ladder of thresholds."""
    return days.resample(GAP).max().dropna().to_numpy()


@dataclass(frozen=True)
class Outcome:
    """How a way of watching did: faults, how many it found, median days to find these, its false rate, and
    how often it named the cause rightly (None: it names none)."""

    name: str
    faults: int
    found: int
    days: float
    false: Rate
    named: int | None


def outcome(results: list[Judged], name: str, limit: float) -> Outcome:
    """A rival at its threshold."""
    delays, faults = [], 0
    for result in results:
        days = raised(watched(result, name), limit)
        for label in result.labels:
            faults += 1
            first = next((day for day in days if score.within(label, day)), None)
            if first is not None:
                delays.append(score.days_after(label, first))
    median = float(np.median(delays)) if delays else float("nan")
    return Outcome(name, faults, len(delays), median, false_rate(results, name, limit), None)


def own_outcome(results: list[Judged]) -> Outcome:
    """sevenppb itself, in the same terms."""
    found = [m for m in score.matches(results) if m.incident is not None]
    return Outcome(
        name="sevenppb",
        faults=len(score.matches(results)),
        found=len(found),
        days=float(np.median([m.delay for m in found])) if found else float("nan"),
        false=score.false_rate(results),
        named=sum(m.right for m in found),
    )
