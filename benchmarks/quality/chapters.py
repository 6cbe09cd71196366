"""What a run puts into docs/detection.md: tables, drawings, and the command, so that anybody can run it again."""

from argparse import Namespace
from dataclasses import dataclass

import pandas as pd

from benchmarks.quality import charts, figures, page
from benchmarks.quality.compare import Compared
from benchmarks.quality.fleets import Judged

CURVES = """![Faults found against false incidents, a line for each way of watching](images/detection.svg)

Faults found against false incidents, both as they came on the judged plants. A line is what one of the others could
find at best with no more false incidents than that (hindsight); its ring, what came of the threshold set on healthy
plants. The points of `sevenppb` are scans with other budgets, the large one the default; the dashed line is the default
budget. The axis begins at 0.01: fewer, or none, are drawn there."""


@dataclass(frozen=True)
class Chapter:
    """Tables and texts by the name that the page has their place under, drawings (SVG) by their file's name."""

    tables: dict[str, pd.DataFrame]
    texts: dict[str, str]
    drawings: dict[str, str]


def comparison(sets: list[Compared], asked: Namespace) -> Chapter:
    """sevenppb beside other ways of watching."""
    tables, texts = {}, {"run": _compared(sets, asked), "curves": CURVES}
    for one in sets:
        kind = one.instruments.split()[0]
        tables[f"ways-{kind}"] = figures.ways(one)
        tables[f"sooner-{kind}"] = figures.sooner(one)
        tables[f"budgets-{kind}"] = figures.budgets(one)
        tables[f"causes-{kind}"] = figures.causes(one.results)
        texts[f"facts-{kind}"] = page.listed(figures.facts(one.results))
    return Chapter(tables, texts, {"detection": charts.curves(sets)})


def alone(sets: dict[str, list[Judged]], asked: Namespace) -> Chapter:
    """sevenppb by itself, and whether its confidence is to be trusted."""
    bins = figures.reliability_bins([result for results in sets.values() for result in results])
    texts = {
        "run-alone": f"{_command(asked, '--alone')}\n\n{_judged(asked)}",
        "reliability": f"The {bins['incidents'].sum()} incidents that found a fault on seeds {_listed(asked.seeds)}, "
        f"{'; '.join(sets)}:",
    }
    return Chapter({"alone": figures.alone(sets)}, texts, {"reliability": charts.reliability(bins)})


def _compared(sets: list[Compared], asked: Namespace) -> str:
    tuning = _listed(asked.tuning_seeds)
    allowed = " and ".join(f"{one.allowed:.2f} ({one.instruments})" for one in sets)
    more = f"--tuning-seeds {tuning} --tuning-vessels {asked.tuning_vessels}"
    return (
        f"{_command(asked, more)}\n\n{_judged(asked)} "
        f"The other ways' thresholds: seeds {tuning}, {asked.tuning_vessels} vessels each without any fault, set "
        "so that they raise no more false incidents a vessel-year than sevenppb there, or than its budget if "
        f"that is more: {allowed}."
    )


def _command(asked: Namespace, more: str) -> str:
    return (
        f"```bash\npython -m benchmarks.quality --seeds {_listed(asked.seeds)} --vessels {asked.vessels} "
        f"--healthy {asked.healthy} \\\n    --days {asked.days} --minutes {asked.minutes} "
        f"--baseline {asked.baseline} {more} --write docs\n```"
    )


def _judged(asked: Namespace) -> str:
    return (
        f"Judged: seeds {_listed(asked.seeds)}, {asked.vessels} vessels each, {asked.healthy} of them without a fault; "
        f"{asked.days} days of readings every {asked.minutes} minutes, the first {asked.baseline} the baseline."
    )


def _listed(seeds: tuple[int, ...]) -> str:
    return ",".join(str(seed) for seed in seeds)
