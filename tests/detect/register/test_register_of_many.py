"""A large fleet's register: twice the vessels and incidents are twice the work."""

import sqlite3
import sys
from pathlib import Path
from types import FrameType
from typing import Any

import made_register as made
import pytest
from made_register import incident, scan

from sevenppb.detect.register import file, history, store

FEW, MANY = 40, 160
STEPS = 100  # of SQLite between two counts
OWN = str(Path(store.__file__).parent)


@pytest.mark.parametrize("known", [False, True])
def test_work_grows_with_the_vessels_and_not_with_their_square(
    known: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    few, many = (work(tmp_path / f"{n}.sqlite", n, known, monkeypatch) for n in (FEW, MANY))
    for kind in ("lines", "steps"):
        assert 3.0 < many[kind] / few[kind] < 5.0, kind  # 4, but for what is done once; 16 for all with all


def work(path: Path, vessels: int, known: bool, monkeypatch: pytest.MonkeyPatch) -> dict[str, int]:
    """What a scan's entry, a look without entry and the history cost, each vessel with an incident: lines of Python run
    here, and SQLite's steps. `known`: an earlier scan has found the same."""
    names = tuple(f"DA-{n}" for n in range(vessels))
    rows = [incident("2025-06-10", vessel=name) for name in names]
    if known:
        store.record(path, scan("2025-07-01", *rows, vessels=names), made.fleet(), made.day("2025-07-01"))
    found = scan("2025-10-01", *rows, vessels=names)
    counts = {"lines": 0, "steps": 0}

    def step() -> None:
        counts["steps"] += 1

    def connected(*words: Any, **more: Any) -> sqlite3.Connection:
        connection = sqlite3.Connection(*words, **more)
        connection.set_progress_handler(step, STEPS)
        return connection

    def line(frame: FrameType, event: str, _: Any) -> Any:
        counts["lines"] += event == "line"
        return line if frame.f_code.co_filename.startswith(OWN) else None

    monkeypatch.setattr(file.sqlite3, "connect", connected)
    before = sys.gettrace()
    sys.settrace(line)
    try:
        store.record(path, found, made.fleet(), made.day("2025-10-02"))
        store.looked_up(path, found)
        history.history(path)
    finally:
        sys.settrace(before)
        monkeypatch.undo()
    return counts
