"""The benchmark's figures → tables in a page, between markers, and as CSV."""

import re
from argparse import Namespace
from pathlib import Path

import numpy as np
import pandas as pd

from benchmarks.quality import score
from benchmarks.quality.alarms import Outcome
from benchmarks.quality.compare import Compared
from sevenppb.detect.causes import CAUSES

MARKED = r"(<!-- measured: {name} -->\n).*?(<!-- end of measured -->)"
Z90 = 1.645


def filled(page: str, parts: dict[str, str]) -> str:
    """The page with each part between its markers. Raises ValueError where the page has no place for one."""
    for name, text in parts.items():
        pattern = re.compile(MARKED.format(name=re.escape(name)), re.DOTALL)
        if not pattern.search(page):
            raise ValueError(f'the page has no line "<!-- measured: {name} -->"')
        page = pattern.sub(lambda found, text=text: f"{found[1]}\n{text}\n\n{found[2]}", page)
    return page


def ways_table(one: Compared) -> pd.DataFrame:
    """A row a way of watching."""
    return pd.DataFrame(
        {
            "way of watching": [o.name for o in one.outcomes],
            "faults found": [_share(o.found, o.faults) for o in one.outcomes],
            "cause right": [_named(o) for o in one.outcomes],
            "median days": [_number(o.days, 0) for o in one.outcomes],
            "false a vessel-year": [_number(o.false.per_year, 2) for o in one.outcomes],
        }
    )


def causes_table(one: Compared) -> pd.DataFrame:
    """A row a cause: how many were found, rightly named, named first or second, median days, and the median
    of the told size over the true one."""
    rows = score.table(one.results)
    labels = [CAUSES[cause].label if cause in CAUSES else "all" for cause in rows.index]
    ratios = [score.size_ratios(one.results, None if c == "all" else c) for c in rows.index]
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


def facts(one: Compared) -> list[str]:
    """What else was measured, a sentence each."""
    rate, errors = score.false_rate(one.results), score.onset_errors(one.results)
    inside, total = score.magnitude_coverage(one.results)
    frozen = sum(len(score.scored(r).frozen) for r in one.results)
    return [
        f"False incidents while nothing was wrong: {rate.number} in {rate.vessel_years:.0f} vessel-years "
        f"({rate.per_year:.2f} a vessel-year); {score.beside(one.results)} more beside the one that found a fault.",
        f"Sizes within their stated 90 % interval: {_share(inside, total)} (right cause, fault still there).",
        f"Onset: median error {errors.days:.0f} days, {100 * errors.share:.0f} % of the fault's length; within the "
        f"stated interval: {_share(errors.inside, errors.total)}.",
        f"Readings that the made-up historian froze for days and that were told as stuck: {frozen}.",
    ]


def reliability_bins(compared: list[Compared]) -> pd.DataFrame:
    """Stated confidence and what became of it over all sets of instruments, with Wilson's 90 % interval."""
    bins = score.reliability([result for one in compared for result in one.results])
    n, p = bins["incidents"].to_numpy(dtype=float), bins["right"].to_numpy(dtype=float)
    middle = (p + Z90**2 / (2 * n)) / (1 + Z90**2 / n)
    half = Z90 / (1 + Z90**2 / n) * np.sqrt(p * (1 - p) / n + Z90**2 / (4 * n**2))
    return bins.assign(low_right=middle - half, high_right=middle + half)


def run_text(compared: list[Compared], asked: Namespace) -> str:
    """What was run, so that anybody can run it again."""
    seeds, tuning = (",".join(str(seed) for seed in some) for some in (asked.seeds, asked.tuning_seeds))
    allowed = " and ".join(f"{one.allowed:.2f} ({one.instruments})" for one in compared)
    command = (
        f"python -m benchmarks.quality --seeds {seeds} --vessels {asked.vessels} --healthy {asked.healthy} \\\n"
        f"    --tuning-seeds {tuning} --tuning-vessels {asked.tuning_vessels} --days {asked.days} "
        f"--minutes {asked.minutes} --baseline {asked.baseline} --write docs"
    )
    return (
        f"```bash\n{command}\n```\n\n"
        f"Judged: seeds {seeds}, {asked.vessels} vessels each, {asked.healthy} of them without a fault; "
        f"{asked.days} days of readings every {asked.minutes} minutes, the first {asked.baseline} the baseline. "
        f"The other ways' thresholds: seeds {tuning}, {asked.tuning_vessels} vessels each without any fault, set "
        "so that they raise no more false incidents a vessel-year than sevenppb there, or than its budget if "
        f"that is more: {allowed}."
    )


def listed(sentences: list[str]) -> str:
    """Sentences as a list."""
    return "\n".join(f"- {sentence}" for sentence in sentences)


def markdown(frame: pd.DataFrame) -> str:
    """A table of texts and whole numbers."""
    lines = [frame.columns.tolist(), ["---"] * len(frame.columns), *frame.astype(str).to_numpy().tolist()]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


def write(
    folder: Path, tables: dict[str, pd.DataFrame], texts: dict[str, str], drawings: dict[str, str]
) -> None:
    """Fill detection.md, and write the tables as CSV and the drawings as SVG beside it."""
    page = folder / "detection.md"
    parts = {name: markdown(frame) for name, frame in tables.items()} | texts
    page.write_text(filled(page.read_text(encoding="utf-8"), parts), encoding="utf-8")
    images = folder / "images"
    images.mkdir(exist_ok=True)
    for name, frame in tables.items():
        (images / f"detection-{name}.csv").write_text(frame.to_csv(index=False), encoding="utf-8")
    for name, svg in drawings.items():
        (images / f"{name}.svg").write_text(svg + "\n", encoding="utf-8")


def _share(part: int, whole: int) -> str:
    return f"{part} of {whole}" + (f" ({100 * part / whole:.0f} %)" if whole else "")


def _named(one: Outcome) -> str:
    return "–" if one.named is None else str(one.named)


def _number(value: float, decimals: int) -> str:
    return "–" if np.isnan(value) else f"{value:.{decimals}f}"
