"""The file: locked, damaged, of another, from the future, killed, and two at once."""

import multiprocessing
import sqlite3
import time
from contextlib import closing, suppress
from functools import partial
from pathlib import Path
from typing import Any

import made_register as made
import numpy as np
import pytest

from sevenppb.detect.errors import RegisterFault
from sevenppb.detect.register import file, migrations, store
from sevenppb.detect.register.history import history

JULY = made.scan("2025-07-01", made.incident("2025-06-10"))
WHEN = made.day("2025-07-02")
SPAWN = multiprocessing.get_context("spawn")  # as on Windows and macOS: a fresh interpreter


@pytest.fixture
def path(tmp_path: Path) -> Path:
    place = tmp_path / store.NAME
    store.record(place, JULY, made.fleet(), WHEN)
    return place


def rows(path: Path, query: str) -> list[tuple[object, ...]]:
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute(query).fetchall()


def assert_sound(path: Path, vessels: int) -> None:
    """Whole pages, whole scans, no loose ends."""
    assert rows(path, "PRAGMA integrity_check") == [("ok",)]
    assert rows(path, "PRAGMA foreign_key_check") == []
    looks = rows(
        path, "SELECT count(look.scan) FROM scan LEFT JOIN look ON look.scan = scan.id GROUP BY scan.id"
    )
    assert {n for (n,) in looks} <= {vessels}
    for row in history(path).values():
        assert row.seen[0].found is not None
    flags = [(row.vessel, row.found.first_flagged) for row in history(path).values()]
    assert len(set(flags)) == len(flags)


def test_a_locked_register_is_waited_for_then_told(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(file, "PATIENCE", 0.1)
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(
            RegisterFault, match=r"has been locked by another program for 0\.1 seconds\. Wait"
        ):
            store.record(path, JULY, made.fleet(), WHEN)
        other.execute("ROLLBACK")
    store.record(path, JULY, made.fleet(), WHEN)


@pytest.mark.parametrize("damage", ["text", "hole"])
def test_a_damaged_register_is_named_and_left_as_it_is(path: Path, damage: str) -> None:
    if damage == "text":
        path.write_text("not a database at all, " * 100, encoding="utf-8")
    else:
        content = bytearray(path.read_bytes())
        content[4096:] = b"\xff" * (len(content) - 4096)
        path.write_bytes(content)
    before = path.read_bytes()
    with pytest.raises(
        RegisterFault, match=r"register\.sqlite is damaged \(.*\)\. Put a backup in its place"
    ):
        store.record(path, JULY, made.fleet(), WHEN)
    assert path.read_bytes() == before


def test_a_register_of_a_newer_version_is_left_alone(path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA user_version = 99")
    before = path.read_bytes()
    with pytest.raises(
        RegisterFault, match=r"newer sevenppb \(register version 99; this one knows 2\)\. Update"
    ):
        history(path)
    assert path.read_bytes() == before


def test_another_programs_database_is_left_alone(tmp_path: Path) -> None:
    place = tmp_path / store.NAME
    with closing(sqlite3.connect(place)) as connection:
        connection.execute("CREATE TABLE recipe (name TEXT)")
    with pytest.raises(RegisterFault, match="is a database of another program"):
        store.record(place, JULY, made.fleet(), WHEN)


def test_a_place_that_cannot_be_opened_is_told(tmp_path: Path) -> None:
    with pytest.raises(RegisterFault, match=r"Can't write to .*Check free space and permissions"):
        store.record(tmp_path / "missing" / store.NAME, JULY, made.fleet(), WHEN)


def test_without_a_register_nothing_is_made(tmp_path: Path) -> None:
    with pytest.raises(RegisterFault, match="there is no register yet"):
        history(tmp_path / store.NAME)
    assert list(tmp_path.iterdir()) == []


def test_migrations_run_once_each_and_a_failing_one_leaves_the_steps_before_it(tmp_path: Path) -> None:
    def second(connection: sqlite3.Connection) -> None:
        connection.execute("ALTER TABLE scan ADD COLUMN site TEXT")

    def failing(connection: sqlite3.Connection) -> None:
        connection.execute("CREATE TABLE half (x TEXT)")
        raise ValueError("halfway")

    steps = (migrations.first_tables, second, failing)
    with closing(sqlite3.connect(tmp_path / "r", isolation_level=None)) as connection:
        for _ in range(2):
            with pytest.raises(ValueError, match="halfway"):
                migrations.migrate(connection, steps)
            assert migrations.version(connection) == 2
        tables = {name for (name,) in connection.execute("SELECT name FROM sqlite_master")}
        columns = [row[1] for row in connection.execute("PRAGMA table_info (scan)")]
    assert "incident" in tables
    assert "half" not in tables
    assert columns.count("site") == 1


def test_a_register_that_another_scan_starts_right_now_is_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its mark and its tables are looked at in one view: here the other scan comes between the two looks."""
    place, real = tmp_path / store.NAME, sqlite3.connect
    came = []

    class Overtaken(sqlite3.Connection):
        def execute(self, statement: str, *values: Any) -> sqlite3.Cursor:
            if "sqlite_master" in statement:
                came.append(statement)
                with (
                    closing(real(place, timeout=0, isolation_level=None)) as other,
                    suppress(sqlite3.OperationalError),  # it has to wait
                ):
                    migrations.migrate(other)
            return super().execute(statement, *values)

    monkeypatch.setattr(file.sqlite3, "connect", partial(real, factory=Overtaken))
    with file.transaction(place, make=True) as connection:
        assert connection.execute("SELECT count(*) FROM scan").fetchone() == (0,)
    assert came


def test_two_scans_at_once_both_count(tmp_path: Path) -> None:
    """Each process scans a vessel of its own for some weeks, and both start with the same first week."""
    place, weeks = tmp_path / store.NAME, 12
    tasks = [(("DA-1",), 0), (("DA-2",), 0), (("DA-1",), 0)]
    workers = [SPAWN.Process(target=made.record_weeks, args=(place, first, weeks, v)) for v, first in tasks]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join(60)
    assert [worker.exitcode for worker in workers] == [0, 0, 0]
    assert_sound(place, vessels=1)
    alone = tmp_path / "alone.sqlite"
    for vessel in ("DA-1", "DA-2"):
        made.record_weeks(alone, 0, weeks, (vessel,))
    assert {(row.id, row.found) for row in history(place).values()} == {
        (row.id, row.found) for row in history(alone).values()
    }


def test_killed_at_any_moment_the_register_stays_whole(tmp_path: Path) -> None:
    place, rng, weeks = tmp_path / store.NAME, np.random.default_rng(20250914), 400
    vessels = ("DA-1", "DA-2")
    scans = 0
    for _ in range(3):
        worker = SPAWN.Process(target=made.record_weeks, args=(place, scans, weeks, vessels))
        worker.start()
        deadline = time.monotonic() + 60
        while time.monotonic() < deadline and (not place.exists() or count_scans(place) == scans):
            time.sleep(0.02)
        time.sleep(float(rng.uniform(0.0, 0.3)))
        worker.kill()
        worker.join()
        assert worker.exitcode != 0  # it was in the middle of its work
        assert_sound(place, vessels=2)
        assert count_scans(place) > scans
        scans = count_scans(place)
    made.record_weeks(place, scans, 2, vessels)
    assert count_scans(place) == scans + 2


def count_scans(path: Path) -> int:
    try:
        return int(str(rows(path, "SELECT count(*) FROM scan")[0][0]))
    except sqlite3.OperationalError:  # no table yet
        return 0
