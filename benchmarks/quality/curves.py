"""Faults found against false incidents as they came on the judged fleets, for each way of watching.

A rival is taken with hindsight: at each false rate, the threshold that finds the most faults with no more. A user
could not choose so; it is the best that its score could do. sevenppb has none: an outcome for each budget that it
is given, wherever that comes out.
"""

from dataclasses import replace

import numpy as np

from benchmarks.quality import alarms, outcome
from benchmarks.quality.alarms import Watched
from benchmarks.quality.fleets import Judged
from benchmarks.quality.outcome import Outcome


def swept(vessels: list[Watched], name: str) -> list[Outcome]:
    """A rival at every threshold."""
    return alarms.outcomes(vessels, name, alarms.ladder(vessels))


def at_most(tried: list[Outcome], rate: float) -> Outcome:
    """The most faults with no more false incidents a vessel-year than that; of as many, those found sooner."""
    within = [one for one in tried if one.false.per_year <= rate]
    return max(within, key=lambda one: (one.found, -np.nan_to_num(one.days)))


def rising(tried: list[Outcome]) -> tuple[Outcome, ...]:
    """Those that find more faults than any other with no more false incidents, by rising rate."""
    out: list[Outcome] = []
    for one in sorted(tried, key=lambda one: (one.false.number, -one.found)):
        if one.found > (out[-1].found if out else 0):
            out.append(one)
    return tuple(out)


def own(results: list[Judged]) -> dict[float, Outcome]:
    """sevenppb at each of the other budgets that it was scanned with."""
    budgets = sorted({budget for result in results for budget in result.budgets})
    return {
        budget: outcome.own([replace(r, scan=replace(r.scan, incidents=r.budgets[budget])) for r in results])
        for budget in budgets
    }
