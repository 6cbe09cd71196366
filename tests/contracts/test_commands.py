"""Every command of the contract is there, says what it does, and takes what the contract says."""

import re
import subprocess
import sys
from importlib.metadata import version

import pytest
from click.testing import CliRunner

from sevenppb.reports.cli import app

PROMISED = {
    "demo": ({"--out"}, []),
    "draft": ({"--out"}, ["exports"]),
    "check": (set(), ["fleet"]),
    "scan": ({"--since", "--until", "--vessel", "--out", "--workers", "--fail-on"}, ["fleet"]),
    "compare": ({"--out"}, ["fleet"]),
    "digest": ({"--week", "--out"}, ["fleet"]),
    "note": (set(), ["fleet", "incident", "text"]),
    "close": (set(), ["fleet", "incident"]),
    "prove": (set(), ["fleet"]),
}


def test_no_command_is_missing_or_unpromised():
    assert set(app.main.commands) == set(PROMISED)


@pytest.mark.parametrize("name", PROMISED)
def test_options_and_arguments_are_the_contracts(name):
    options, arguments = PROMISED[name]
    command = app.main.commands[name]
    taken = {option for parameter in command.params for option in parameter.opts if option.startswith("--")}
    assert options <= taken
    assert [p.name for p in command.params if p.param_type_name == "argument"] == arguments


@pytest.mark.parametrize("name", PROMISED)
def test_help_is_given_and_changes_nothing(name):
    shown = CliRunner().invoke(app.main, [name, "--help"])
    assert shown.exit_code == 0
    assert shown.stdout.startswith(f"Usage: main {name} ")
    assert re.search(r"Example:\n +sevenppb ", shown.stdout)


@pytest.mark.parametrize(
    "words",
    [["scan"], ["scna", "fleet.toml"], ["scan", "fleet.toml", "--untli", "2025-01-01"], ["note", "x"]],
)
def test_a_wrong_command_gives_2_and_says_what_is_wrong(words):
    shown = CliRunner().invoke(app.main, words)
    assert shown.exit_code == 2
    assert "Error: " in shown.stderr
    assert "Traceback" not in shown.output


def test_the_installed_command_starts():
    shown = subprocess.run(
        [sys.executable, "-c", "from sevenppb.reports.cli.app import main; main()", "--version"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert shown.stdout == f"sevenppb {version('sevenppb')}\n"
