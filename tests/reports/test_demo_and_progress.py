"""The demo's command around a scanner that answers at once, and how far a long command says it is."""

import dataclasses
import io
import sys
from pathlib import Path

import made_scan
import pytest
from click.testing import CliRunner

from sevenppb.reports.cli import app, progress, running
from sevenppb.synthetic import demo

FLEET = made_scan.fleet_text(3)


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_the_demo_says_what_was_found_that_it_is_made_up_and_where(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = made_scan.fleet_scan()
    found = dataclasses.replace(made, vessels=made.vessels[:3], incidents=made.incidents[-1:])

    def written(out: Path) -> Path:
        out.mkdir()
        (out / "fleet.toml").write_text(FLEET, encoding="utf-8")
        return out / "fleet.toml"

    monkeypatch.setattr(demo, "write_demo", written)
    monkeypatch.setattr(running, "scan", lambda fleet, show, workers: found)
    result = CliRunner().invoke(
        app.main, ["demo", "--out", str(tmp_path / "try"), "--workers", "1"], catch_exceptions=False
    )
    assert result.exit_code == 0
    assert "DA-2: heat loss" in result.stdout
    assert "All made up, no real plant" in result.stdout
    assert str(tmp_path / "try" / "scan" / "scan.html") in result.stdout
    assert (tmp_path / "try" / "scan" / "scan.pdf").exists()


def test_a_folder_that_cannot_be_written_is_told_in_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    result = CliRunner().invoke(app.main, ["demo", "--out", str(tmp_path / "file" / "try")])
    assert result.exit_code == 2
    assert "try" in result.stderr
    assert "Traceback" not in result.stderr


def test_a_terminal_gets_a_bar_with_names_as_they_are(monkeypatch: pytest.MonkeyPatch) -> None:
    terminal = Terminal()
    monkeypatch.setattr(sys, "stderr", terminal)
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setenv("COLUMNS", "80")
    with progress.shown(quiet=False) as show:
        show("DA[red]1", 1, 3)
        show("DA[red]1", 2, 3)
    assert "DA[red]1" in terminal.getvalue()
    assert "2/3" in terminal.getvalue()


def test_quiet_is_silent(monkeypatch: pytest.MonkeyPatch) -> None:
    terminal = Terminal()
    monkeypatch.setattr(sys, "stderr", terminal)
    with progress.shown(quiet=True) as show:
        show("DA-1", 1, 3)
    assert terminal.getvalue() == ""


@pytest.mark.parametrize(
    ("elapsed", "done", "words"),
    [
        (60.0, 0, ""),
        (10.0, 1, ", about 2 min left"),
        (10.0, 9, ""),
        (3600.0, 2, ", about 5 h left"),
    ],
)
def test_the_time_left_is_told_where_it_is_worth_a_word(elapsed: float, done: int, words: str) -> None:
    assert progress._left(elapsed, done, 12) == words
