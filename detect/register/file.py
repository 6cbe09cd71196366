"""The register's file: one transaction at a time, and a clear sentence where it can't be had."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from sevenppb.detect.errors import RegisterFault
from sevenppb.detect.register import migrations

ELSEWHERE = "choose another folder with --out, or another register in the fleet file"
PATIENCE = 30.0  # seconds to wait for another scan's transaction, which takes well under one
_DAMAGED = (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)
_UNWRITABLE = (
    sqlite3.SQLITE_CANTOPEN,
    sqlite3.SQLITE_FULL,
    sqlite3.SQLITE_IOERR,
    sqlite3.SQLITE_PERM,
    sqlite3.SQLITE_READONLY,
)


@contextmanager
def transaction(path: Path, *, make: bool = False) -> Iterator[sqlite3.Connection]:
    """All that is done inside is kept as a whole, or not at all.

    make  start a register where there is none; its folder must be there
    Raises RegisterFault where there is none to use, and where it is locked, damaged, newer than this version
    or another program's.
    """
    if not make and not path.exists():
        raise RegisterFault(
            f"{path}: there is no register yet. Run sevenppb scan first, or name the folder of the scans with --out."
        )
    try:
        with closing(sqlite3.connect(path, timeout=PATIENCE, isolation_level=None)) as connection:
            connection.execute("PRAGMA foreign_keys = ON")
            _check(connection, path)
            migrations.migrate(connection)
            connection.execute("BEGIN IMMEDIATE")
            try:
                yield connection
            except BaseException:
                if connection.in_transaction:  # a full disk has already ended it
                    connection.execute("ROLLBACK")
                raise
            connection.execute("COMMIT")
    except sqlite3.Error as error:
        sentence = _sentence(path, error)
        if sentence is None:
            raise
        raise RegisterFault(sentence) from error


def _check(connection: sqlite3.Connection, path: Path) -> None:
    """That the file is a register of a version known here, before anything is written to it."""
    connection.execute("BEGIN")  # one view of all three: another scan may be starting this register right now
    version = migrations.version(connection)
    application = connection.execute("PRAGMA application_id").fetchone()[0]
    empty = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0] == 0
    connection.execute("COMMIT")
    if application != migrations.APPLICATION and not (empty and version == 0):
        raise RegisterFault(f"{path} is a database of another program. Move it away, or {ELSEWHERE}.")
    known = len(migrations.MIGRATIONS)
    if version > known:
        raise RegisterFault(
            f"{path} was written by a newer sevenppb (register version {version}; this one knows {known}). "
            f"Update sevenppb, or {ELSEWHERE}."
        )


def _sentence(path: Path, error: sqlite3.Error) -> str | None:
    """What a person can do about it; None where the fault is not the file's."""
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF  # extended codes keep their kind in the low byte
    if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return (
            f"{path} has been locked by another program for {PATIENCE:g} seconds. "
            "Wait until that one is done, then run the command again."
        )
    if code in _DAMAGED:
        return (
            f"{path} is damaged ({error}). Put a backup in its place; without one, move the file away, "
            "and the next scan starts a register without the earlier history."
        )
    if code in _UNWRITABLE:
        return f"Can't write to {path}: {error}. Check free space and permissions, or {ELSEWHERE}."
    return None
