"""sevenppb beside its rivals: thresholds set on healthy fleets, judged on others."""

from dataclasses import dataclass, replace
from functools import partial

from benchmarks.quality import alarms, fleets, score
from benchmarks.quality.alarms import Outcome
from benchmarks.quality.fleets import Judged
from benchmarks.quality.rivals import table
from sevenppb.detect.settings import DEFAULTS
from sevenppb.synthetic.simulation import FleetPlan


@dataclass(frozen=True)
class Compared:
    """One set of instruments: every way of watching, sevenppb first; the false rate that rivals were tuned
    to; and sevenppb's own results on the judged fleets."""

    instruments: str
    outcomes: tuple[Outcome, ...]
    allowed: float
    results: list[Judged]


def compared(
    instruments: str,
    plan: FleetPlan,
    seeds: tuple[int, ...],
    tuning_seeds: tuple[int, ...],
    tuning_vessels: int,
    rivals: tuple[str, ...] = tuple(table.RIVALS),
) -> Compared:
    """Tune each rival on fleets like the plan's but without any fault, then judge all on `seeds`.

    A rival may raise as many false incidents as sevenppb raised on the tuning fleets, or as sevenppb allows
    itself, whichever is more: no rival is held to fewer."""
    scores = partial(table.scores, names=rivals)
    healthy = replace(plan, vessels=tuning_vessels, healthy=tuning_vessels)
    tuning = fleets.judged(healthy, tuning_seeds, scores=scores)
    results = fleets.judged(plan, seeds, scores=scores)
    allowed = max(score.false_rate(tuning).per_year, DEFAULTS.false_alarms)
    outcomes = [alarms.own_outcome(results)]
    for name in rivals:
        fixed = table.FIXED.get(table.RIVALS[name])
        limit = alarms.threshold(tuning, name, allowed) if fixed is None else fixed
        outcomes.append(alarms.outcome(results, name, limit))
    return Compared(instruments, tuple(outcomes), allowed, results)
