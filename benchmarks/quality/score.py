"""Scans beside the truth → the figures that docs/detection.md states.

A fault is found by an incident that was first flagged within it: on the day of its onset or later, and
before it was put right. Incidents of no fault are false. A reading that the made-up historian froze for days
stands still in truth, so an incident that says so belongs to no fault and is not false either.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import pandas as pd

from benchmarks.quality.fleets import Judged
from sevenppb.detect.incidents.incident import Incident
from sevenppb.synthetic.simulation import Label

DAY = pd.Timedelta(days=1)
YEAR = 365.25
STUCK = "sensor-stuck"
SENSOR = "sensor-"  # how the causes begin that are an instrument's
BINS = (0.0, 0.5, 0.7, 0.85, 0.95, 1.0)  # of stated confidence


@dataclass(frozen=True)
class Match:
    """A labelled fault and the incident that found it (None: missed)."""

    vessel: str
    label: Label
    incident: Incident | None

    @property
    def right(self) -> bool:
        """Right cause first (and the right sensor, where it is one)."""
        i = self.incident
        return i is not None and (i.cause, i.role) == (self.label.cause, self.label.role)

    @property
    def second(self) -> bool:
        """Right cause among the first two."""
        i = self.incident
        if i is None:
            return False
        other = i.alternatives[:1]
        named = [(i.cause, i.role)] + [(a.cause, a.role) for a in other]
        return (self.label.cause, self.label.role) in named

    @property
    def right_side(self) -> bool:
        """Rightly told as a sensor's or as the vessel's own."""
        i = self.incident
        return i is not None and i.cause.startswith(SENSOR) == self.label.cause.startswith(SENSOR)

    @property
    def delay(self) -> float:
        """Days from onset to first flagged; NaN where missed."""
        i = self.incident
        return float("nan") if i is None else days_after(self.label, i.first_flagged)


@dataclass(frozen=True)
class Scored:
    """One vessel: its faults with what found them, the incidents that are false, and those that tell of a
    reading that the historian froze."""

    matches: tuple[Match, ...]
    false: tuple[Incident, ...]
    frozen: tuple[Incident, ...]


def within(label: Label, flagged: pd.Timestamp) -> bool:
    """Whether a day on which something was flagged lies within the fault."""
    return flagged >= label.onset.floor("D") and (label.ended is None or flagged <= label.ended)


def days_after(label: Label, flagged: pd.Timestamp) -> float:
    """Days from the fault's onset to the end of the day of the flag: a day is flagged when it is over."""
    return float((flagged + DAY - label.onset) / DAY)


def scored(result: Judged) -> Scored:
    """Each label with an incident flagged within it: the right cause before others, then the earliest."""
    left = list(result.scan.incidents)
    matches = []
    for label in result.labels:
        fits = [i for i in left if within(label, i.first_flagged) and _can_mean(i, label)]
        fits.sort(key=lambda i: ((i.cause, i.role) != (label.cause, label.role), i.first_flagged))
        chosen = fits[0] if fits else None
        if chosen is not None:
            left.remove(chosen)
        matches.append(Match(result.scan.id, label, chosen))
    frozen = tuple(i for i in left if i.cause == STUCK)
    return Scored(tuple(matches), tuple(i for i in left if i.cause != STUCK), frozen)


def _can_mean(incident: Incident, label: Label) -> bool:
    """A standstill is exact: one that is told of another reading is another matter."""
    return incident.cause != STUCK or incident.role == label.role


def matches(results: list[Judged]) -> list[Match]:
    """All faults of all vessels."""
    return [m for r in results for m in scored(r).matches]


def table(results: list[Judged]) -> pd.DataFrame:
    """A row a cause and one for all: faults, found, right cause first, in the first two, median days to first
    flagged."""
    every = matches(results)
    rows = []
    for cause in sorted({m.label.cause for m in every}):
        rows.append(_row(cause, [m for m in every if m.label.cause == cause]))
    rows.append(_row("all", every))
    return pd.DataFrame(rows).set_index("cause")


def _row(cause: str, own: list[Match]) -> dict[str, object]:
    found = [m for m in own if m.incident is not None]
    return {
        "cause": cause,
        "faults": len(own),
        "found": len(found),
        "first": sum(m.right for m in own),
        "first two": sum(m.second for m in own),
        "days": float(np.median([m.delay for m in found])) if found else float("nan"),
    }


def wrong_above(results: list[Judged], confidence: float) -> int:
    """Faults that were found under a wrong cause stated with more confidence than that."""
    return sum(
        m.incident is not None and not m.right and m.incident.confidence > confidence
        for m in matches(results)
    )


@dataclass(frozen=True)
class Rate:
    """False incidents while nothing was wrong (on vessels without a fault, and on the others before their
    first), and the vessel-years of that."""

    number: int
    vessel_years: float

    @property
    def per_year(self) -> float:
        """Per vessel-year; NaN where nothing was watched."""
        return self.number / self.vessel_years if self.vessel_years else float("nan")


def false_rate(results: list[Judged]) -> Rate:
    """Over all results; a vessel is watched from the end of its baseline on."""
    number = sum(i.first_flagged < first_fault(r) for r in results for i in scored(r).false)
    return Rate(number, sum(quiet_years(r) for r in results))


def beside(results: list[Judged]) -> int:
    """Incidents on vessels with a fault, flagged after its onset, that are not the one that found it."""
    return sum(i.first_flagged >= first_fault(r) for r in results for i in scored(r).false)


def first_fault(result: Judged) -> pd.Timestamp:
    """The day on which the vessel's first fault begins; long after the end where it has none."""
    return min(
        (label.onset.floor("D") for label in result.labels), default=pd.Timestamp.max.tz_localize("UTC")
    )


def quiet_years(result: Judged) -> float:
    """Years from the end of the vessel's baseline to its first fault or its last reading."""
    end = min(result.last, first_fault(result))
    return max(float((end - result.baseline_end) / DAY / YEAR), 0.0)


def size_ratios(results: list[Judged], cause: str | None = None) -> list[float]:
    """Told size over true size of the faults that `magnitude_coverage` counts, of one cause or of all."""
    return [told / true for told, true, _ in _sizes(results, cause)]


def magnitude_coverage(results: list[Judged]) -> tuple[int, int]:
    """Of the faults whose cause was named rightly and that were still there on the last day: how many sizes
    the stated 90 % interval holds, and how many there are. A fault that still grows is counted at the size
    it had then."""
    inside = [held for _, _, held in _sizes(results, None)]
    return sum(inside), len(inside)


def _sizes(results: list[Judged], cause: str | None) -> list[tuple[float, float, bool]]:
    """(told, true, interval holds the true one) of each size that can be judged."""
    out = []
    for result in results:
        for m in scored(result).matches:
            lasting = m.label.cause != STUCK and m.label.ended is None and m.label.shape != "intermittent"
            if m.incident is None or not m.right or not lasting or cause not in (None, m.label.cause):
                continue
            true, told = m.label.size * _grown(m.label, result.last), m.incident.magnitude
            out.append((told.value, true, told.low <= true <= told.high))
    return out


def _grown(label: Label, at: pd.Timestamp) -> float:
    """Share of its full size that a fault has."""
    if label.full <= label.onset:
        return 1.0
    return float(np.clip((at - label.onset) / (label.full - label.onset), 0.0, 1.0))


@dataclass(frozen=True)
class OnsetErrors:
    """Of the found faults: median absolute error in days and as a share of the fault's length (onset to the
    end or the last reading), and how many of how many onsets the stated interval holds."""

    days: float
    share: float
    inside: int
    total: int


def onset_errors(results: list[Judged]) -> OnsetErrors:
    """Over all found faults; the interval is of whole days."""
    error, share, inside = [], [], 0
    for result in results:
        for m in scored(result).matches:
            if m.incident is None:
                continue
            end = result.last if m.label.ended is None else m.label.ended
            off = abs((m.incident.onset - m.label.onset) / DAY)
            error.append(off)
            share.append(off / max((end - m.label.onset) / DAY, 1.0))
            low, high = m.incident.onset_interval
            inside += low <= m.label.onset < high + DAY
    if not error:
        return OnsetErrors(float("nan"), float("nan"), 0, 0)
    return OnsetErrors(float(np.median(error)), float(np.median(share)), inside, len(error))


def reliability(results: list[Judged]) -> pd.DataFrame:
    """Stated confidence of the incidents that found a fault, in bins: how many, the mean stated, and the
    share whose cause was right."""
    found = [m for m in matches(results) if m.incident is not None]
    stated = np.array([m.incident.confidence for m in found if m.incident is not None])
    right = np.array([m.right for m in found], dtype=float)
    rows = []
    for low, high in pairwise(BINS):
        here = (stated > low) & (stated <= high)
        if here.any():
            rows.append((low, high, int(here.sum()), float(stated[here].mean()), float(right[here].mean())))
    return pd.DataFrame(rows, columns=["low", "high", "incidents", "stated", "right"])
