"""Scans beside the truth → the figures that docs/detection.md states."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from benchmarks.quality.fleets import Judged
from sevenppb.detect.incidents.incident import Incident
from sevenppb.synthetic.simulation import Label

EARLY = pd.Timedelta(days=15)  # an incident may be flagged at most this long before the labelled onset


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
    def delay(self) -> float:
        """Days from onset to first flagged; NaN where missed."""
        i = self.incident
        return float("nan") if i is None else (i.first_flagged - self.label.onset) / pd.Timedelta(days=1)


def match(result: Judged) -> tuple[list[Match], list[Incident]]:
    """Each label with the incident flagged after its onset (the right cause before others, then the earliest), and
    the incidents that belong to no label: false ones."""
    left = list(result.scan.incidents)
    matches = []
    for label in result.labels:
        fits = [i for i in left if i.first_flagged >= label.onset - EARLY]
        fits.sort(key=lambda i: ((i.cause, i.role) != (label.cause, label.role), i.first_flagged))
        chosen = fits[0] if fits else None
        if chosen is not None:
            left.remove(chosen)
        matches.append(Match(result.scan.id, label, chosen))
    return matches, left


def table(results: list[Judged], years: float) -> pd.DataFrame:
    """A row a cause: faults, found, right cause first, in the first two, median days to first flagged."""
    matches = [m for r in results for m in match(r)[0]]
    rows = []
    for cause in sorted({m.label.cause for m in matches}):
        own = [m for m in matches if m.label.cause == cause]
        rows.append(_row(cause, own))
    rows.append(_row("all", matches))
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


def false_rate(results: list[Judged], watched_years: float) -> tuple[int, int, float]:
    """False incidents on vessels without a fault: their number, the vessels, and the rate per watched vessel-year."""
    healthy = [r for r in results if not r.labels]
    wrong = sum(len(r.scan.incidents) for r in healthy)
    return wrong, len(healthy), wrong / max(len(healthy) * watched_years, 1e-9)
