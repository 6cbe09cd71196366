"""How a way of watching did, in terms that are the same for all; and two of them fault by fault."""

from dataclasses import dataclass

import numpy as np

from benchmarks.quality import score
from benchmarks.quality.fleets import Judged
from benchmarks.quality.score import Rate

NAME = "sevenppb"


@dataclass(frozen=True)
class Outcome:
    """A way of watching: `delays` of each fault, in the same order for every way, the days from its onset until it
    was flagged, NaN where missed; its false rate; and how often it named the cause rightly (None: it names
    none)."""

    name: str
    delays: tuple[float, ...]
    false: Rate
    named: int | None

    @property
    def faults(self) -> int:
        """How many there are."""
        return len(self.delays)

    @property
    def found(self) -> int:
        """How many of them were found."""
        return int(np.sum(~np.isnan(self.delays)))

    @property
    def days(self) -> float:
        """Median days over those found; NaN where none is."""
        return float(np.nanmedian(self.delays)) if self.found else float("nan")

    @property
    def days_of_all(self) -> float:
        """Median days over all faults, a missed one counted as never found: infinite where half are missed."""
        return float(np.median(np.where(np.isnan(self.delays), np.inf, self.delays)))


@dataclass(frozen=True)
class Pair:
    """Two ways of watching over the faults that both found: how many, each one's median days, and on how many of
    them the first was the earlier by a day or more."""

    both: int
    first: float
    second: float
    earlier: int


def pair(first: Outcome, second: Outcome) -> Pair:
    """The same faults, in the same order."""
    a, b = np.array(first.delays), np.array(second.delays)
    both = ~np.isnan(a) & ~np.isnan(b)
    if not both.any():
        return Pair(0, float("nan"), float("nan"), 0)
    a, b = a[both], b[both]
    return Pair(int(both.sum()), float(np.median(a)), float(np.median(b)), int(np.sum(b - a >= 1.0)))


def own(results: list[Judged]) -> Outcome:
    """sevenppb itself."""
    matches = score.matches(results)
    return Outcome(
        name=NAME,
        delays=tuple(match.delay for match in matches),
        false=score.false_rate(results),
        named=sum(match.right for match in matches),
    )
