"""The register's tables, a named function a step. `PRAGMA user_version` counts the steps that a file has
had; a step and its count share one transaction."""

import sqlite3
from collections.abc import Callable, Sequence

Migration = Callable[[sqlite3.Connection], None]

APPLICATION = 0x37505042  # "7PPB", in the file's header: SQLite's own mark of whose file it is


def first_tables(connection: sqlite3.Connection) -> None:
    """Scans, what each saw of each vessel, incidents, sightings, people's doings, work done."""
    connection.execute(f"PRAGMA application_id = {APPLICATION}")
    for statement in (
        """CREATE TABLE scan (
            id INTEGER PRIMARY KEY, recorded TEXT NOT NULL, fleet TEXT NOT NULL, tool TEXT NOT NULL,
            start TEXT, until TEXT)""",
        # back: it ended before readings that an earlier scan had used
        """CREATE TABLE look (
            scan INTEGER NOT NULL REFERENCES scan, vessel TEXT NOT NULL, state TEXT NOT NULL,
            start TEXT, until TEXT, watched_from TEXT, back INTEGER NOT NULL, fingerprint TEXT NOT NULL,
            PRIMARY KEY (scan, vessel))""",
        # latest, yardstick: the scans whose findings stand for it now, and from which growth is measured
        """CREATE TABLE incident (
            id TEXT PRIMARY KEY, vessel TEXT NOT NULL,
            state TEXT NOT NULL
                CHECK (state IN ('new', 'open', 'worsening', 'eased', 'closed', 'acknowledged')),
            closed TEXT,
            latest INTEGER NOT NULL REFERENCES scan,
            yardstick INTEGER NOT NULL REFERENCES scan)""",
        """CREATE TABLE sighting (
            incident TEXT NOT NULL REFERENCES incident, scan INTEGER NOT NULL REFERENCES scan,
            before TEXT, state TEXT NOT NULL, finding TEXT, PRIMARY KEY (incident, scan))""",
        """CREATE TABLE act (
            id INTEGER PRIMARY KEY, incident TEXT NOT NULL REFERENCES incident, at TEXT NOT NULL,
            author TEXT NOT NULL, event TEXT NOT NULL CHECK (event IN ('noted', 'closed')),
            text TEXT NOT NULL)""",
        """CREATE TABLE work (
            vessel TEXT NOT NULL, date TEXT NOT NULL, what TEXT NOT NULL, resets TEXT NOT NULL,
            PRIMARY KEY (vessel, date, what))""",
        "CREATE INDEX incident_of_vessel ON incident (vessel)",
        "CREATE INDEX sighting_of_scan ON sighting (scan)",
    ):
        connection.execute(statement)


def looks_by_vessel(connection: sqlite3.Connection) -> None:
    """A vessel's looks are found without a walk through those of all vessels."""
    connection.execute("CREATE INDEX look_of_vessel ON look (vessel, scan)")


MIGRATIONS: tuple[Migration, ...] = (first_tables, looks_by_vessel)


def migrate(connection: sqlite3.Connection, migrations: Sequence[Migration] = MIGRATIONS) -> None:
    """Bring a register up to date, step by step; a step that fails leaves the steps before it."""
    while True:
        connection.execute("BEGIN IMMEDIATE")
        try:
            done = version(connection)
            if done < len(migrations):
                migrations[done](connection)
                connection.execute(f"PRAGMA user_version = {done + 1}")
            connection.execute("COMMIT")
        except BaseException:
            if connection.in_transaction:  # a full disk has already ended it
                connection.execute("ROLLBACK")
            raise
        if done >= len(migrations):
            return


def version(connection: sqlite3.Connection) -> int:
    """Steps that the file has had."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])
