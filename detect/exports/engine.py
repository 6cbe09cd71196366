"""The engine that reads files: an in-memory database, which spills to disk and never downloads."""

import functools
import itertools
import os
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import duckdb

MEMORY = "1GB"  # beyond it the engine spills; a vessel-year of minutes needs a third of it
_FRUGAL = "250MB"  # for exports that are streamed to disk: with less the engine can't keep their order
_FRUGAL_THREADS = 4  # each holds a part of the file


@dataclass(frozen=True)
class Engine:
    """A connection and the folder for what has to touch the disk (spilled blocks, re-encoded or fetched
    files)."""

    db: duckdb.DuckDBPyConnection
    folder: Path
    numbers: Iterator[int] = field(default_factory=itertools.count)

    def run(self, sql: str) -> None:
        """A statement without a result."""
        self.db.execute(sql)

    def rows(self, sql: str) -> list[tuple[Any, ...]]:
        """All rows of a query, so that no half-read result blocks the connection."""
        return self.db.execute(sql).fetchall()

    def row(self, sql: str) -> tuple[Any, ...]:
        """The one row of a query that has one."""
        return self.rows(sql)[0]

    def be_frugal(self) -> None:
        """From now on less memory, at some cost of speed."""
        threads = min(os.cpu_count() or 1, _FRUGAL_THREADS)
        self.run(
            f"SET memory_limit = '{_FRUGAL}'; SET threads = {threads}; SET allocator_flush_threshold = '16MB'"
        )

    def table(self) -> str:
        """A name for a new table."""
        return f"export_{next(self.numbers)}"


@contextmanager
def start() -> Iterator[Engine]:
    """An engine for one vessel's reading; all it wrote is gone at the end."""
    with tempfile.TemporaryDirectory(prefix="sevenppb-") as folder:
        database = _database(os.getpid(), threading.get_ident())
        try:
            with database.cursor() as db:
                db.execute(
                    f"SET temp_directory = {literal(folder)}; SET memory_limit = '{MEMORY}'; RESET threads; "
                    "RESET allocator_flush_threshold; SET TimeZone = 'UTC'; SET preserve_insertion_order = true; "
                    "SET enable_progress_bar = false; "
                    "SET enable_external_file_cache = false"  # nothing is read so often that it pays
                )
                yield Engine(db, Path(folder))
        finally:
            _let_go(database)


@functools.cache
def _database(process: int, thread: int) -> duckdb.DuckDBPyConnection:
    """What a thread's vessels use in turn, each over a connection with tables of its own: to open a database costs
    what reading a month does. A forked process needs another: the engine's own threads are not forked with it."""
    return duckdb.connect(
        config={"autoinstall_known_extensions": "false", "autoload_known_extensions": "false"}
    )


def _let_go(database: duckdb.DuckDBPyConnection) -> None:
    """Make the database forget the folder that goes. One that has spilled into it can't, and is not used again."""
    try:
        database.execute("RESET temp_directory")
    except duckdb.Error:
        database.close()
        _database.cache_clear()


def quoted(name: str) -> str:
    """A column's name, as an identifier."""
    return '"' + name.replace('"', '""') + '"'


def literal(text: str) -> str:
    """A text, as a string constant."""
    return "'" + text.replace("'", "''") + "'"
