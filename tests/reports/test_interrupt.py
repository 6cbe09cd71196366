"""Ctrl-C that a library swallows, or puts an error of its own in place of."""

import gc
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from sevenppb.detect.exports import check, read
from sevenppb.reports.cli import interrupt, main, program
from sevenppb.synthetic.fleet import write_fleet
from sevenppb.synthetic.simulation import FleetPlan


def swallowed() -> None:
    """Ctrl-C, as a callback from C sees it: what is raised there goes nowhere."""
    try:
        signal.raise_signal(signal.SIGINT)
    except KeyboardInterrupt:
        return
    raise AssertionError("the signal was not raised")


def engine(*_: object) -> None:
    swallowed()
    raise RuntimeError("Query interrupted")


def test_what_was_swallowed_is_raised_when_asked_for() -> None:
    with interrupt.noticed() as stop_if_told:
        stop_if_told()
        swallowed()
        with pytest.raises(KeyboardInterrupt):
            stop_if_told()


def test_an_error_in_its_place_is_the_interrupt() -> None:
    with pytest.raises(KeyboardInterrupt), interrupt.noticed():
        engine()


def test_other_errors_stay_as_they_are() -> None:
    with pytest.raises(RuntimeError, match="of its own"), interrupt.noticed():
        raise RuntimeError("of its own")


def test_the_handler_of_before_is_put_back() -> None:
    before = signal.getsignal(signal.SIGINT)
    with interrupt.noticed():
        assert signal.getsignal(signal.SIGINT) is not before
    assert signal.getsignal(signal.SIGINT) is before


def test_a_request_to_end_is_an_interrupt_with_a_status_of_its_own() -> None:
    with pytest.raises(KeyboardInterrupt) as ended, interrupt.noticed():
        signal.raise_signal(signal.SIGTERM)
    assert interrupt.exit_code(ended.value) == 143
    assert interrupt.exit_code(KeyboardInterrupt()) == 130


@pytest.fixture(scope="module")
def fleet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_fleet(
        tmp_path_factory.mktemp("fleet"),
        FleetPlan(seed=3, vessels=2, healthy=1, days=10, step_minutes=60, baseline_days=5),
    )


@pytest.mark.parametrize("command", ["scan", "check"])
def test_a_command_ends_as_interrupted_whatever_the_engine_makes_of_it(
    command: str, fleet: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(read, "read_vessel", engine)
    monkeypatch.setattr(check, "check_vessel", engine)
    more = ["--out", str(tmp_path), "--workers", "1"] if command == "scan" else []
    ended = CliRunner().invoke(main, [command, str(fleet), *more])
    assert ended.exit_code == 130
    assert "Stopped" in ended.stderr
    assert "Query" not in ended.output


@pytest.mark.skipif(os.name == "nt", reason="signals of Unix")
def test_a_library_that_was_broken_off_cannot_hide_what_ended_the_command() -> None:
    """A library's thread that is still there when the interpreter is taken down may abort the process."""
    broken = (
        "import atexit, os, signal\n"
        "from unittest import mock\n"
        "from sevenppb.reports.cli import check, program\n"
        "def broken_off(*_):\n"
        "    atexit.register(os.abort)\n"
        "    signal.raise_signal(signal.SIGINT)\n"
        "with mock.patch('sevenppb.detect.fleet.read_fleet', broken_off):\n"
        "    program()\n"
    )
    ended = subprocess.run(
        [sys.executable, "-c", broken, "check", "any.toml"], capture_output=True, text=True, check=False
    )
    assert (ended.returncode, ended.stdout, ended.stderr) == (130, "", "Stopped.\n")


def test_a_command_does_not_look_for_garbage_as_it_ends(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "argv", ["sevenppb", "--version"])
    before = gc.get_freeze_count()
    try:
        with pytest.raises(SystemExit) as end:
            program()
        assert gc.get_freeze_count() > before
    finally:
        gc.unfreeze()
    assert end.value.code == 0
