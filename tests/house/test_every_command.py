"""Every command that a page, README.md or DEVELOPERS.md shows runs to its end, in a copy of the project's files.

amounts.py says how much less each does here, and which no test can run. The commands of `sevenppb` run in
test_commands_in_docs.py, those that install in test_from_a_clone.py.
"""

import importlib.util
import os
import re
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import amounts
import checkout
import pages
import pytest

from benchmarks import record
from benchmarks.record import Figure, Run

WRITTEN = [" ".join(words) for words in pages.WRITTEN]
ELSEWHERE = (
    "cd ",
    "git ",
    "source ",
    "pip ",
    "pre-commit ",
    "python -m pip ",
    "python -m venv ",
    "python start.py ",
)
HERE = sorted(
    {
        amounts.smaller(words)
        for words in pages.WRITTEN
        if words[0] != "sevenppb" and not " ".join(words).startswith((*ELSEWHERE, *amounts.NOT_RUN))
    }
)
COVERAGE = [
    words for kind in ("run", "combine", "report") for words in HERE if words[:2] == ("coverage", kind)
]
ADDED = ("pyod", "stumpy", "ruptures")  # what `pip install -e ".[bench]"` adds
# in their place where they are not installed: the same answers in shape, not in worth
STAND_INS = {
    "pyod/models/ecod.py": """
class ECOD:
    def fit(self, rows):
        self.decision_scores_ = (rows**2).sum(axis=1)
        return self
    def decision_function(self, rows):
        return (rows**2).sum(axis=1)
""",
    "stumpy.py": """
import numpy as np
def stump(values, window, other=None, ignore_trivial=True, normalize=True):
    return abs(np.lib.stride_tricks.sliding_window_view(values, window)).max(axis=1)[:, None]
""",
    "ruptures.py": """
class Binseg:
    def __init__(self, model, min_size, jump):
        pass
    def fit(self, rows):
        self.end, self.cost = len(rows), self
        return self
    def predict(self, n_bkps):
        return [self.end // 2, self.end]
    def sum_of_costs(self, ends):
        return self.end / len(ends)
""",
}


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The project's files as a repository, its tree of links, two records of speed, and what the rivals stand on."""
    folder = checkout.copy(tmp_path_factory.mktemp("copy") / "sevenppb")
    for name, said, less in amounts.LESS_THERE:
        text = (folder / name).read_text(encoding="utf-8")
        assert text.count(said) == 1, name
        (folder / name).write_text(text.replace(said, less), encoding="utf-8")
    git = ["git", "-c", "user.name=A. Person", "-c", "user.email=a.person@example.org"]
    for words in (["init"], ["add", "--all"], ["commit", "--message", "All"]):
        checkout.run([*git, *words], folder)
    checkout.loaded(folder / "start.py").make_typed_tree()
    for name in ("OLD", "NEW"):
        made = record.write(folder, Run(name, "3.11", 2, {"time": Figure(1.0, "s")}))
        assert made.name == f"{name}.json"
    for name, code in STAND_INS.items():
        path = folder / "build" / "stand-ins" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(code, encoding="utf-8")
    return folder


def run(words: Sequence[str], copy: Path) -> str:
    """What a command prints. The copy's own code runs, in the environment of these tests."""
    program = sys.executable if words[0] == "python" else str(checkout.SCRIPTS / words[0])
    if words[0] == "mypy":  # what it keeps from its last run makes it quick here, and slow in a new copy
        checkout.loaded(pages.ROOT / "start.py").make_typed_tree()
        return checkout.run([program, *words[1:]], pages.ROOT)
    found = [str(copy / "build" / "typed")]
    if not all(importlib.util.find_spec(name) for name in ADDED):
        found.append(str(copy / "build" / "stand-ins"))
    return checkout.run([program, *words[1:]], copy, PYTHONPATH=os.pathsep.join(found))


@pytest.mark.parametrize(
    "words",
    [pytest.param(words, id=" ".join(words)[:70]) for words in HERE if words not in COVERAGE],
)
def test_a_command_runs_to_its_end(words: tuple[str, ...], copy: Path) -> None:
    before = {path: path.read_bytes() for path in (copy / "docs").rglob("*.*")}
    run(words, copy)
    changed = {path.name for path, text in before.items() if path.read_bytes() != text}
    assert bool(changed) == ("--write" in words), changed


def test_coverage_is_run_combined_and_reported(copy: Path) -> None:
    assert len(COVERAGE) == 3
    assert "TOTAL" in [run(words, copy) for words in COVERAGE][-1]


def test_what_is_not_run_is_still_written() -> None:
    assert [begin for begin in amounts.NOT_RUN if not any(line.startswith(begin) for line in WRITTEN)] == []
    assert [begin for begin in amounts.SMALLER if not any(line.startswith(begin) for line in WRITTEN)] == []
    assert len(amounts.NOT_RUN) < 5


def test_the_audit_of_dependencies_has_its_options() -> None:
    shown = checkout.run([sys.executable, "-m", "pip_audit", "--help"], pages.ROOT)
    asked = {
        word for words in pages.WRITTEN if "pip_audit" in words for word in words if word.startswith("--")
    }
    assert asked
    assert [option for option in asked if option not in shown] == []


def test_commands_are_looked_for_where_they_stand() -> None:
    """In blocks, in indented lines, and in sentences of the pages, also over the end of a line."""
    assert {
        "mypy",
        "ruff check .",
        "coverage report",
        "python start.py demo",
        "python -m benchmarks compare OLD.json NEW.json",
    } <= {*WRITTEN}


@pytest.mark.parametrize(
    "line",
    [
        "python -m benchmarks.fuzz nothing",
        "python -m benchmarks.nothing",
        ".venv/bin/ruff chekc .",
    ],
)
def test_a_wrong_command_would_be_seen(line: str, copy: Path) -> None:
    (words,) = pages.programs(line)
    with pytest.raises(AssertionError, match=r"usage|No module|unrecognized"):
        run(words, copy)


@pytest.mark.skipif(os.name == "nt", reason="needs a Unix shell")
@pytest.mark.parametrize(("status", "mails"), [(0, True), (1, True), (2, False)])
def test_the_weekly_script_mails_unless_nothing_was_written(tmp_path: Path, status: int, mails: bool) -> None:
    page = pages.ROOT / "docs" / "scheduling.md"
    (script,) = pages.blocks(page, "bash")
    for name, code in (("sevenppb", status), ("python", 0)):
        stand_in = tmp_path / name
        stand_in.write_text(f'#!/bin/bash\necho "{name} $*"\nexit {code}\n', encoding="utf-8")
        stand_in.chmod(0o755)
    text = script.text.replace("/opt/sevenppb/.venv/bin", str(tmp_path))
    said = subprocess.run(
        ["bash", "-c", text], capture_output=True, text=True, check=False
    ).stdout.splitlines()
    assert said == ["sevenppb digest fleet.toml --quiet", *["python mail_digest.py digest"] * mails]
    (cron,) = (block.text for block in pages.blocks(page, "text"))
    assert re.fullmatch(r"(\S+ ){5}cd \S+ && \./weekly\.sh >> weekly\.log 2>&1\n", cron)
