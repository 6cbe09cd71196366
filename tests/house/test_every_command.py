"""Every command that a page, README.md or DEVELOPERS.md shows can be given: its program, its sub-command and its
options are there.

The quick ones of `sevenppb` are run in test_commands_in_docs.py. Of those that install, take minutes or start the tests
themselves, the program is asked for its help behind the very words that the page shows.
"""

import importlib.util
import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path
from types import ModuleType

import click
import pages
import pytest

from sevenppb.reports.cli import app

SCRIPTS = Path(sys.executable).parent
LINES = [line for page in (*pages.DOCS, *pages.ROOT.glob("[DR]E*.md")) for line in pages.lines(page)]
WRITTEN = sorted({tuple(words) for line in LINES for words in pages.programs(line)})
# what belongs to the shell, to git or to the system; `schtasks` is another system's
OUTSIDE = {"cd", "git", "source", "crontab", "schtasks"}
HELPFUL = {"coverage", "lint-imports", "mypy", "pre-commit", "pytest", "ruff"}
SMALL = {"benchmarks/steam.py": ["1000"]}  # has no options, and is run


def asked(words: list[str], folder: Path) -> str:
    """What a program of this environment prints."""
    surroundings = os.environ | {"COLUMNS": "200", "COVERAGE_FILE": str(folder / "coverage")}
    done = subprocess.run(
        words, cwd=pages.ROOT, env=surroundings, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, (words, done.stderr[-800:])
    return done.stdout


def its_help(words: list[str], options: list[str], folder: Path) -> None:
    """The program takes these words, and its help knows the options among them."""
    shown = asked([*words, "--help"], folder)
    assert [option for option in options if option.partition("=")[0] not in shown] == []


def loaded(path: Path) -> ModuleType:
    found = importlib.util.spec_from_file_location(path.stem, path)
    assert found is not None
    assert found.loader is not None
    module = importlib.util.module_from_spec(found)
    found.loader.exec_module(module)
    return module


def check_sevenppb(words: list[str]) -> None:
    if not words or words[0].startswith("-"):
        assert set(words) <= {"--help", "--version"}
        return
    name, *rest = words
    command = app.main.commands[name]
    if rest:  # a name alone speaks of the command
        command.make_context(name, rest, parent=click.Context(app.main, **app.main.context_settings))


def check_pip(words: list[str], folder: Path) -> None:
    """pip takes the options, the pins are there, and so are the extras."""
    assert words[0] == "install"
    asked([sys.executable, "-m", "pip", *words, "--help"], folder)
    extras = tomllib.loads((pages.ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    for word in words[1:]:
        if named := re.fullmatch(r"(?:\.|sevenppb)\[(\w+)\]", word):
            assert named[1] in extras["optional-dependencies"]
        else:
            assert word.startswith("-") or word == "." or (pages.ROOT / word).exists(), word


def check_start(words: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """The words end in the program or the checks that they name; nothing is installed."""
    start = loaded(pages.ROOT / "start.py")
    ran: list[list[str]] = []
    monkeypatch.setattr(start, "install", lambda kind, what: None)
    monkeypatch.setattr(start, "make_typed_tree", lambda: None)
    monkeypatch.setattr(start, "run", lambda command, folder=None: ran.append(command) or 0)
    assert start.main(words) == 0
    last, expected = ran[-1], {"demo": ["sevenppb", *words], "test": ["pytest", *words[1:]]}[words[0]]
    assert [Path(last[0]).stem, *last[1:]] == expected
    check(expected, Path(), monkeypatch)


def check_python(words: list[str], folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    if words[:2] == ["-m", "pip"]:
        check_pip(words[2:], folder)
    elif words[0] == "start.py":
        check_start(words[1:], monkeypatch)
    elif words[0] == "docs/tables.py":  # test_docs.py compares what it would write with every page
        monkeypatch.setattr(tables := loaded(pages.ROOT / words[0]), "PAGES", folder)
        assert tables.main() == 0
    elif words[0] in SMALL:
        assert asked([sys.executable, *words, *SMALL[words[0]]], folder)
    else:
        options = [word for word in words if word.startswith("--")]
        its_help([sys.executable, *words], options, folder)


def check(words: list[str], folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    program, *rest = words
    if program == "sevenppb":
        check_sevenppb(rest)
    elif program == "python":
        check_python(rest, folder, monkeypatch)
    elif program == "pip":
        check_pip(rest, folder)
    elif program == "coverage" and "-m" in rest:
        own, other = rest[: rest.index("-m")], rest[rest.index("-m") + 1 :]
        check([program, *own], folder, monkeypatch)
        check(other, folder, monkeypatch)
    elif program in HELPFUL:
        sub = [word for word in rest[:1] if not word.startswith("-")]
        options = [word for word in rest if word.startswith("-")]
        its_help([str(SCRIPTS / program), *(sub if program != "pytest" else [])], options, folder)
    else:
        assert program in OUTSIDE, f"{program}: no test knows this program"


@pytest.mark.parametrize("words", WRITTEN, ids=lambda words: " ".join(words)[:70])
def test_a_command_can_be_given(
    words: tuple[str, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    check([*words], tmp_path, monkeypatch)


def test_commands_are_looked_for_where_they_stand() -> None:
    """In blocks, in indented lines and in sentences of the pages."""
    assert {("mypy",), ("ruff", "check", "."), ("coverage", "report"), ("python", "start.py", "demo")} <= {
        *WRITTEN
    }


@pytest.mark.parametrize(
    "line",
    [
        "sevenppb scam fleet.toml",
        "sevenppb scan fleet.toml --soon",
        "python -m benchmarks.quality --speed 3",
        "python -m benchmarks.nothing",
        "python start.py tset",
        'pip install -e ".[bunch]"',
        ".venv/bin/ruff chekc .",
        "curl somewhere",
    ],
)
def test_a_wrong_command_would_be_seen(line: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (words,) = pages.programs(line)
    with pytest.raises((AssertionError, KeyError, SystemExit, click.ClickException)):
        check(words, tmp_path, monkeypatch)


def test_the_pages_are_one_site(tmp_path: Path) -> None:
    asked(
        [sys.executable, "-m", "mkdocs", "build", "--strict", "--site-dir", str(tmp_path / "site")], tmp_path
    )
    built = {path.stem for path in (tmp_path / "site").glob("*.html")}
    assert {page.stem for page in pages.DOCS} <= built


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
