"""A thread's vessels are read in one database, and none finds what another has left."""

import os
from concurrent.futures import ThreadPoolExecutor

import pytest

from sevenppb.detect.exports import engine

SETTINGS = "SELECT current_setting('memory_limit'), current_setting('threads')"


def _database() -> float:
    """A number by which a database is known."""
    with engine.start() as running:
        running.run("CREATE TABLE IF NOT EXISTS memory.kept AS SELECT random() AS mark")
        return running.row("SELECT mark FROM memory.kept")[0]


def test_the_next_vessel_finds_the_database_open() -> None:
    assert _database() == _database()


def test_another_thread_has_one_of_its_own() -> None:
    with ThreadPoolExecutor(1) as pool:
        assert _database() != pool.submit(_database).result()


def test_tables_and_frugality_end_with_the_vessel() -> None:
    with engine.start() as running:
        usual = running.row(SETTINGS)
        running.run("CREATE TEMP TABLE export_0 AS SELECT 1")
        running.be_frugal()
        assert running.row(SETTINGS) != usual
    with engine.start() as running:
        assert running.row(SETTINGS) == usual
        assert running.rows("SELECT table_name FROM duckdb_tables() WHERE temporary") == []


def test_a_database_that_spilled_leaves_nothing_and_is_not_used_again() -> None:
    before = _database()
    with engine.start() as running:
        running.run("SET memory_limit = '30MB'; SET threads = 1")
        running.run("CREATE TEMP TABLE many AS SELECT random() AS r FROM range(5_000_000)")
        assert os.listdir(running.folder)
        folder = running.folder
    assert not folder.exists()
    assert _database() != before


def test_an_error_leaves_the_engine_usable() -> None:
    before = _database()
    with pytest.raises(KeyboardInterrupt), engine.start():
        raise KeyboardInterrupt
    assert _database() == before
