"""What a vessel costs, by what the time goes to, and how long the rest of a run will take."""

import pandas as pd

from benchmarks.quality import fleets
from benchmarks.quality.fleets import Judged


def table(results: list[Judged]) -> pd.DataFrame:
    """Mean processor seconds a vessel over those that had it done: a row for what they were spent on. Simulated
    vessels come many at a time, so the mean alone says what one costs."""
    spent = pd.DataFrame([result.seconds for result in results]).mean()
    return pd.DataFrame(
        {"what": spent.index, "processor seconds a vessel": [f"{value:.2f}" for value in spent]}
    )


def minutes_left(done: list[Judged], rest: list[tuple[int, int]]) -> float:
    """Of a run that still has these fleets to do: how many vessels each, and at how many other budgets they are
    scanned. Reckoned from the vessels that are done, on as many idle processors as fleets use."""
    spent = pd.DataFrame([result.seconds for result in done]).mean()
    plain = spent.drop(fleets.BUDGETS).sum()
    seconds = sum(vessels * (plain + budgets * spent[fleets.SCAN]) for vessels, budgets in rest)
    return float(seconds / 60 / fleets.WORKERS)
