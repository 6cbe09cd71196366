"""sevenppb beside its rivals: thresholds set on healthy fleets, judged on others; and what these would have found
at the same false rate there."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from benchmarks.quality import alarms, curves, fleets, outcome, score
from benchmarks.quality.fleets import Judged
from benchmarks.quality.outcome import Outcome
from benchmarks.quality.rivals import table
from sevenppb.detect.settings import DEFAULTS
from sevenppb.synthetic.simulation import FleetPlan

BUDGETS = (0.03, 0.3, 1.0)  # false incidents a vessel-year; the default one is scanned with anyhow


@dataclass(frozen=True)
class Compared:
    """One set of instruments.

    instruments   its name
    outcomes      every way of watching as a user would have it, sevenppb first
    allowed       the false rate that rivals' thresholds were set to on the tuning fleets
    rate          the false rate on the judged fleets at which `same` holds
    same          of each way whose threshold can be moved: its outcome with hindsight at `rate`
    curves        of each of these ways: outcomes by rising false rate
    budgets       sevenppb's outcomes by budget, the default one included
    results       sevenppb's own results on the judged fleets
    """

    instruments: str
    outcomes: tuple[Outcome, ...]
    allowed: float
    rate: float
    same: dict[str, Outcome]
    curves: dict[str, tuple[Outcome, ...]]
    budgets: dict[float, Outcome]
    results: list[Judged]


def compared(
    instruments: str,
    plan: FleetPlan,
    seeds: tuple[int, ...],
    tuning_seeds: tuple[int, ...],
    tuning_vessels: int,
    rivals: tuple[str, ...] = tuple(table.RIVALS),
    heard: Callable[[list[Judged]], None] = lambda fleet: None,
) -> Compared:
    """Tune each rival on fleets like the plan's but without any fault, then judge all on `seeds`.

    A rival may raise as many false incidents as sevenppb raised on the same fleets, or as sevenppb allows itself,
    whichever is more: no rival is held to fewer."""
    scores = partial(table.scores, names=rivals)
    healthy = replace(plan, vessels=tuning_vessels, healthy=tuning_vessels)
    tuning = fleets.judged(healthy, tuning_seeds, scores=scores, heard=heard)
    results = fleets.judged(plan, seeds, scores=scores, budgets=BUDGETS, heard=heard)
    own = outcome.own(results)
    allowed = max(score.false_rate(tuning).per_year, DEFAULTS.false_alarms)
    rate = max(own.false.per_year, DEFAULTS.false_alarms)
    outcomes, same, rising = [own], {}, {}
    for name in rivals:
        vessels = alarms.watched(results, name)
        limit = table.FIXED.get(table.RIVALS[name])
        if limit is None:
            limit = alarms.threshold(alarms.watched(tuning, name), allowed)
            tried = curves.swept(vessels, name)
            same[name], rising[name] = curves.at_most(tried, rate), curves.rising(tried)
        outcomes += alarms.outcomes(vessels, name, np.array([limit]))
    budgets = dict(sorted({DEFAULTS.false_alarms: own, **curves.own(results)}.items()))
    return Compared(instruments, tuple(outcomes), allowed, rate, same, rising, budgets, results)
