"""The benchmark's results → tables and sentences of docs/detection.md."""

import numpy as np
import pandas as pd

from benchmarks.quality import outcome, page, score
from benchmarks.quality.compare import Compared
from benchmarks.quality.fleets import Judged
from benchmarks.quality.outcome import Outcome
from sevenppb.detect.causes import CAUSES

SURE = 0.7  # a wrong cause that is stated with more confidence than this is counted


def ways(one: Compared) -> pd.DataFrame:
    """A row a way of watching: as a user would have it, and with hindsight at the same false rate."""
    same = [_at_same(one, o) for o in one.outcomes]
    return pd.DataFrame(
        {
            "way of watching": [o.name for o in one.outcomes],
            "faults found": [_share(o.found, o.faults) for o in one.outcomes],
            "cause right": ["–" if o.named is None else str(o.named) for o in one.outcomes],
            "median days": [_number(o.days, 0) for o in one.outcomes],
            "false a vessel-year": [_number(o.false.per_year, 2) for o in one.outcomes],
            f"found at {one.rate:.2f} as measured": [
                "–" if o is None else _share(o.found, o.faults) for o in same
            ],
            "median days there": ["–" if o is None else _number(o.days, 0) for o in same],
        }
    )


def sooner(one: Compared) -> pd.DataFrame:
    """At the same false rate, fault by fault: median days over all faults, and over those that both found."""
    own = one.outcomes[0]
    rows = []
    for o in one.outcomes:
        same = _at_same(one, o)
        if same is None:
            continue
        both = outcome.pair(own, same)
        beside = [str(both.both), _number(both.second, 0), _number(both.first, 0), str(both.earlier)]
        rows.append([o.name, _days(same.days_of_all), *(["–"] * 4 if o is own else beside)])
    columns = ["way of watching", "median days of all faults", "found by both", "its median days there"]
    return pd.DataFrame(rows, columns=[*columns, "sevenppb's there", "sevenppb a day or more sooner"])


def _at_same(one: Compared, way: Outcome) -> Outcome | None:
    """A way of watching at the rate at which all are compared; None where its limit is what it is about."""
    return way if way is one.outcomes[0] else one.same.get(way.name)


def budgets(one: Compared) -> pd.DataFrame:
    """A row a budget of sevenppb."""
    return pd.DataFrame(
        {
            "allowed a vessel-year": [f"{budget:g}" for budget in one.budgets],
            "faults found": [_share(o.found, o.faults) for o in one.budgets.values()],
            "cause right": [str(o.named) for o in one.budgets.values()],
            "median days": [_number(o.days, 0) for o in one.budgets.values()],
            "false a vessel-year": [_number(o.false.per_year, 2) for o in one.budgets.values()],
        }
    )


def causes(results: list[Judged]) -> pd.DataFrame:
    """A row a cause: how many were found, rightly named, named first or second, median days, and the median
    of the told size over the true one."""
    rows = score.table(results)
    labels = [CAUSES[cause].label if cause in CAUSES else "all" for cause in rows.index]
    ratios = [score.size_ratios(results, None if c == "all" else c) for c in rows.index]
    return pd.DataFrame(
        {
            "cause": labels,
            "faults": rows["faults"].to_numpy(),
            "found": rows["found"].to_numpy(),
            "right cause first": rows["first"].to_numpy(),
            "first or second": rows["first two"].to_numpy(),
            "median days": [_number(d, 0) for d in rows["days"]],
            "size told over true": [_number(float(np.median(r)), 2) if r else "–" for r in ratios],
        }
    )


def facts(results: list[Judged]) -> list[str]:
    """What else was measured, a sentence each."""
    rate, errors = score.false_rate(results), score.onset_errors(results)
    inside, total = score.magnitude_coverage(results)
    frozen = sum(len(score.scored(r).frozen) for r in results)
    return [
        f"False incidents while nothing was wrong: {rate.number} in {rate.vessel_years:.0f} vessel-years "
        f"({rate.per_year:.2f} a vessel-year); {score.beside(results)} more beside the one that found a fault.",
        f"Sizes within their stated 90 % interval: {_share(inside, total)} (right cause, fault still there).",
        f"Onset: median error {errors.days:.0f} days, {100 * errors.share:.0f} % of the fault's length; within the "
        f"stated interval: {_share(errors.inside, errors.total)}.",
        f"Readings that the made-up historian froze for days and that were told as stuck: {frozen}.",
    ]


def alone(sets: dict[str, list[Judged]]) -> pd.DataFrame:
    """sevenppb by itself: a column a set of instruments."""
    columns = {name: _summary(results) for name, results in sets.items()}
    names = next(iter(columns.values()))
    return pd.DataFrame(
        {"": list(names), **{name: list(column.values()) for name, column in columns.items()}}
    )


def _summary(results: list[Judged]) -> dict[str, str]:
    every = score.matches(results)
    found = [m for m in every if m.incident is not None]
    rate, onsets = score.false_rate(results), score.onset_errors(results)
    return {
        "faults, vessel-years without one": f"{len(every)}, {rate.vessel_years:.0f}",
        "found": _share(len(found), len(every)),
        "right cause first, of those found": _share(sum(m.right for m in found), len(found)),
        "first or second": _share(sum(m.second for m in found), len(found)),
        f"wrong and stated above {SURE}": str(score.wrong_above(results, SURE)),
        "a sensor told from the vessel, or the vessel from a sensor": _share(
            sum(m.right_side for m in found), len(found)
        ),
        "median days": _number(outcome.own(results).days, 0),
        "false incidents": f"{rate.number} ({_number(rate.per_year, 2)} a vessel-year)",
        "sizes in their interval": _share(*score.magnitude_coverage(results)),
        "onsets in their interval": _share(onsets.inside, onsets.total),
    }


def reliability_bins(results: list[Judged]) -> pd.DataFrame:
    """Stated confidence and what became of it, with Wilson's 90 % interval."""
    bins = score.reliability(results)
    n, p = bins["incidents"].to_numpy(dtype=float), bins["right"].to_numpy(dtype=float)
    middle = (p + page.Z90**2 / (2 * n)) / (1 + page.Z90**2 / n)
    half = page.Z90 / (1 + page.Z90**2 / n) * np.sqrt(p * (1 - p) / n + page.Z90**2 / (4 * n**2))
    return bins.assign(low_right=middle - half, high_right=middle + half)


def _share(part: int, whole: int) -> str:
    return f"{part} of {whole}" + (f" ({100 * part / whole:.0f} %)" if whole else "")


def _number(value: float, decimals: int) -> str:
    return "–" if np.isnan(value) else f"{value:.{decimals}f}"


def _days(value: float) -> str:
    return "never" if np.isinf(value) else _number(value, 0)
