"""What a run measured, as a small JSON with its commit, and two of them beside each other."""

import json
import platform
import subprocess
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from pathlib import Path

HERE = Path(__file__).parent


@dataclass(frozen=True)
class Figure:
    """One measured value. `goal` is the bound it is held to (None: none), and `least` whether it is a lower one.
    `steady` figures are ratios or bytes, which other machines reproduce; the others only tell of this one."""

    value: float
    unit: str
    goal: float | None = None
    least: bool = False
    steady: bool = True

    @property
    def met(self) -> bool | None:
        """None where there is no goal."""
        if self.goal is None:
            return None
        return self.value >= self.goal if self.least else self.value <= self.goal


@dataclass(frozen=True)
class Run:
    """A run's figures by name, the points of its curves, and where it ran."""

    commit: str
    python: str
    cores: int
    figures: Mapping[str, Figure]
    curves: Mapping[str, list[dict[str, float]]] = field(default_factory=dict)


def commit() -> str:
    """The checkout's commit, "+" where files of it were changed since."""
    head = _git("rev-parse", "--short", "HEAD")
    return head + ("+" if _git("status", "--porcelain", "--untracked-files=no") else "")


def machine() -> str:
    """Python's version; the machine is told by its cores alone."""
    return platform.python_version()


def write(folder: Path, run: Run) -> Path:
    """Writes folder/COMMIT.json."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{run.commit}.json"
    path.write_text(json.dumps(asdict(run), indent=1) + "\n", encoding="utf-8")
    return path


def read(path: Path) -> Run:
    """A run that was written here."""
    said = json.loads(path.read_text(encoding="utf-8"))
    figures = {name: Figure(**row) for name, row in said.pop("figures").items()}
    return Run(figures=figures, **said)


def table(run: Run) -> str:
    """The figures as a Markdown table."""
    lines = ["| what | measured | goal | met |", "| --- | --- | --- | --- |"]
    for name, row in run.figures.items():
        goal = "" if row.goal is None else f"{'≥' if row.least else '≤'} {row.goal:g} {row.unit}".rstrip()
        met = {None: "", True: "yes", False: "no"}[row.met]
        lines.append(f"| {name} | {row.value:.3g} {row.unit} | {goal} | {met} |".replace("  ", " "))
    return "\n".join(lines)


def compared(old: Run, new: Run) -> str:
    """How the figures of both have moved; seconds are only told where both ran with as many cores."""
    lines = [f"| what | {old.commit} | {new.commit} | new over old |", "| --- | --- | --- | --- |"]
    for name, row in new.figures.items():
        before = old.figures.get(name)
        if before is None or not (row.steady or old.cores == new.cores):
            continue
        over = row.value / before.value if before.value else float("nan")
        lines.append(
            f"| {name} | {before.value:.3g} | {row.value:.3g} {row.unit} | {over:.2f} |".replace("  ", " ")
        )
    return "\n".join(lines)


def _git(*words: str) -> str:
    return subprocess.run(
        ("git", *words), cwd=HERE, check=True, capture_output=True, text=True
    ).stdout.strip()
