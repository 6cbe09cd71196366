"""A scan or a person's word → the register, in one transaction each."""

import difflib
import json
import sqlite3
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import pandas as pd

from sevenppb.detect.errors import RegisterFault
from sevenppb.detect.fleet import Fleet
from sevenppb.detect.incidents.incident import FleetScan, Incident, State
from sevenppb.detect.register import history, states
from sevenppb.detect.register.file import ELSEWHERE, transaction
from sevenppb.detect.register.finding import Finding, finding, from_text, moment, moment_text, to_text
from sevenppb.detect.register.history import Changes, Life
from sevenppb.detect.register.look import Look, Sighting, look, sightings
from sevenppb.detect.register.matching import Known
from sevenppb.detect.scale.kept import changed

NAME = "register.sqlite"


@dataclass(frozen=True)
class Recorded:
    """A scan with the register's ids and states, what it changed since the scan before (None: there was
    none), and the lives of the incidents by id."""

    scan: FleetScan
    changes: Changes | None
    lives: dict[str, Life]


def record(path: Path, scan: FleetScan, fleet: Fleet, when: pd.Timestamp) -> Recorded:
    """Enter a scan made at `when` into the register at `path`, which is started if there is none.

    A scan that says just what the last one said of each of its vessels adds nothing. Raises RegisterFault.
    """
    with transaction(path, make=True) as connection:
        _same_fleet(connection, path, scan.fleet)
        _enter_work(connection, fleet)
        by_vessel = _by_vessel(scan.incidents)
        looks = [look(vessel, by_vessel.get(vessel.id, ())) for vessel in scan.vessels]
        repeated = {seen.vessel: _repeated(connection, seen) for seen in looks}
        entered = {vessel: earlier for vessel, earlier in repeated.items() if earlier is not None}
        if len(entered) < len(looks):
            new = _enter_scan(connection, scan, when)
            for seen in looks:
                _enter_look(connection, new, seen)
            entered = {seen.vessel: new for seen in looks}
        named = _named(connection, scan, entered)
        return Recorded(named, history.changes(connection, entered), history.lives(connection))


def looked_up(path: Path, scan: FleetScan) -> FleetScan:
    """The scan with the ids of the register at `path`, which stays as it is, and the states there, or those that this
    scan would change them to. An incident that is not listed there has the id "". Raises RegisterFault."""
    if not path.exists():
        return _renamed(scan, {(row.vessel, finding(row)): ("", row.state) for row in scan.incidents})
    names: dict[tuple[str, Finding], tuple[str, State]] = {}
    with transaction(path) as connection:
        _same_fleet(connection, path, scan.fleet)
        by_vessel = _by_vessel(scan.incidents)
        for vessel in scan.vessels:
            seen = look(vessel, by_vessel.get(vessel.id, ()))
            back = _is_back(connection, seen)
            for told in sightings(seen, _known(connection, vessel.id), back=back):
                if told.found is not None:
                    names[vessel.id, told.found] = ("" if told.before is None else told.id, _untold(told))
    return _renamed(scan, names)


def _untold(told: Sighting) -> State:
    """The state that nobody has been told a newer one of: to find an incident again is no news."""
    return told.before if told.before in ("new", "worsening") and told.state == "open" else told.state


def note(path: Path, fleet: str, incident: str, text: str, author: str, when: pd.Timestamp) -> State:
    """Add a person's note to an incident, which acknowledges it; its state then. Raises RegisterFault."""
    return _act(path, fleet, incident, "noted", text, author, when)


def close(path: Path, fleet: str, incident: str, author: str, when: pd.Timestamp) -> State:
    """Close an incident for good; its state then. Raises RegisterFault."""
    return _act(path, fleet, incident, "closed", "", author, when)


def _act(
    path: Path, fleet: str, incident: str, event: states.Event, text: str, author: str, when: pd.Timestamp
) -> State:
    with transaction(path) as connection:
        _same_fleet(connection, path, fleet)
        row = connection.execute("SELECT state FROM incident WHERE id = ?", (incident,)).fetchone()
        if row is None:
            raise RegisterFault(_unknown(connection, path, incident))
        after = states.next_state(row[0], event)
        connection.execute(
            "INSERT INTO act (incident, at, author, event, text) VALUES (?, ?, ?, ?, ?)",
            (incident, moment_text(when), author, event, text),
        )
        # who writes of an incident has seen its latest size: growth is measured from there
        connection.execute(
            "UPDATE incident SET state = ?, yardstick = latest WHERE id = ?", (after, incident)
        )
        if event == "closed" and row[0] != "closed":
            connection.execute("UPDATE incident SET closed = ? WHERE id = ?", (moment_text(when), incident))
        return after


def _unknown(connection: sqlite3.Connection, path: Path, incident: str) -> str:
    ids = [row[0] for row in connection.execute("SELECT id FROM incident ORDER BY id")]
    if not ids:
        return f"{path} has no incident yet, so not {incident} either."
    near = difflib.get_close_matches(incident, ids, n=3, cutoff=0.0)
    return f"{path} has no incident {incident}. The nearest it has: {', '.join(near)}."


def _same_fleet(connection: sqlite3.Connection, path: Path, fleet: str) -> None:
    row = connection.execute("SELECT fleet FROM scan ORDER BY id DESC LIMIT 1").fetchone()
    if row is not None and row[0] != fleet:
        raise RegisterFault(
            f'{path} is the register of "{row[0]}", and this fleet file is of "{fleet}". '
            f"Give the fleet its former name, or {ELSEWHERE}."
        )


def _enter_work(connection: sqlite3.Connection, fleet: Fleet) -> None:
    """Work stays on record when it is later taken out of the fleet file."""
    connection.executemany(
        "INSERT INTO work VALUES (?, ?, ?, ?)"
        " ON CONFLICT (vessel, date, what) DO UPDATE SET resets = excluded.resets",
        [
            (vessel.id, moment_text(work.date), work.what, json.dumps(work.resets))
            for vessel in fleet.vessels
            for work in vessel.work
        ],
    )


def _repeated(connection: sqlite3.Connection, seen: Look) -> int | None:
    """The scan that has already said just this of the vessel: the last one, or for a look back any."""
    if _is_back(connection, seen):
        row = connection.execute(
            "SELECT max(scan) FROM look WHERE vessel = ? AND fingerprint = ?", (seen.vessel, seen.fingerprint)
        ).fetchone()
        return None if row[0] is None else int(row[0])
    row = connection.execute(
        "SELECT scan, fingerprint FROM look WHERE vessel = ? AND NOT back ORDER BY scan DESC LIMIT 1",
        (seen.vessel,),
    ).fetchone()
    return int(row[0]) if row is not None and row[1] == seen.fingerprint else None


def _is_back(connection: sqlite3.Connection, seen: Look) -> bool:
    """Whether an earlier scan has used later readings of the vessel."""
    (latest,) = connection.execute(
        "SELECT max(until) FROM look WHERE vessel = ? AND state = 'scanned'", (seen.vessel,)
    ).fetchone()
    return latest is not None and seen.until is not None and moment_text(seen.until) < latest


def _enter_scan(connection: sqlite3.Connection, scan: FleetScan, when: pd.Timestamp) -> int:
    entered = connection.execute(
        "INSERT INTO scan (recorded, fleet, tool, start, until) VALUES (?, ?, ?, ?, ?)",
        (moment_text(when), scan.fleet, scan.tool, _text(scan.start), _text(scan.until)),
    )
    return int(entered.lastrowid or 0)


def _enter_look(connection: sqlite3.Connection, scan: int, seen: Look) -> None:
    back = _is_back(connection, seen)
    told = sightings(seen, _known(connection, seen.vessel), back=back)
    times = (_text(seen.start), _text(seen.until), _text(seen.watched_from))
    connection.execute(
        "INSERT INTO look VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        (scan, seen.vessel, seen.state, *times, back, seen.fingerprint),
    )
    for sighting in told:
        _enter_sighting(connection, scan, seen.vessel, sighting, back)


def _enter_sighting(
    connection: sqlite3.Connection, scan: int, vessel: str, told: Sighting, back: bool
) -> None:
    if told.before is None:
        connection.execute(
            "INSERT INTO incident (id, vessel, state, latest, yardstick) VALUES (?, ?, ?, ?, ?)",
            (told.id, vessel, told.state, scan, scan),
        )
    elif not back:
        connection.execute("UPDATE incident SET state = ? WHERE id = ?", (told.state, told.id))
        if told.found is not None:
            connection.execute("UPDATE incident SET latest = ? WHERE id = ?", (scan, told.id))
        if states.heard(told.before, told.state):
            connection.execute("UPDATE incident SET yardstick = ? WHERE id = ?", (scan, told.id))
    connection.execute(
        "INSERT INTO sighting VALUES (?, ?, ?, ?, ?)",
        (told.id, scan, told.before, told.state, None if told.found is None else to_text(told.found)),
    )


def _known(connection: sqlite3.Connection, vessel: str) -> list[Known]:
    rows: Iterable[tuple[str, State, str | None, str, str, str]] = connection.execute(
        "SELECT incident.id, incident.state, closed, now.finding, then_.finding, look.until FROM incident"
        " JOIN sighting now ON now.incident = incident.id AND now.scan = latest"
        " JOIN sighting then_ ON then_.incident = incident.id AND then_.scan = yardstick"
        " JOIN look ON look.scan = latest AND look.vessel = incident.vessel"
        " WHERE incident.vessel = ? ORDER BY incident.id",
        (vessel,),
    )
    return [
        Known(
            id_,
            state,
            from_text(now),
            from_text(then),
            None if closed is None else moment(closed),
            moment(until),
        )
        for id_, state, closed, now, then, until in rows
    ]


def _named(connection: sqlite3.Connection, scan: FleetScan, entered: dict[str, int]) -> FleetScan:
    """The scan with the register's ids, and the states that they have there now."""
    names: dict[tuple[str, Finding], tuple[str, State]] = {}
    for vessel, entry in entered.items():
        for id_, state, text in connection.execute(
            "SELECT incident.id, incident.state, finding"
            " FROM incident CROSS JOIN sighting ON incident.id = incident"  # as in history.changes
            " WHERE scan = ? AND vessel = ? AND finding IS NOT NULL",
            (entry, vessel),
        ):
            names[vessel, from_text(text)] = (id_, state)
    return _renamed(scan, names)


def _renamed(scan: FleetScan, names: Mapping[tuple[str, Finding], tuple[str, State]]) -> FleetScan:
    incidents = tuple(_with_name(row, *names[row.vessel, finding(row)]) for row in scan.incidents)
    by_vessel = _by_vessel(incidents)
    vessels = tuple(changed(vessel, incidents=tuple(by_vessel.get(vessel.id, ()))) for vessel in scan.vessels)
    return replace(scan, vessels=vessels, incidents=incidents)


def _by_vessel(incidents: Iterable[Incident]) -> dict[str, list[Incident]]:
    found: dict[str, list[Incident]] = {}
    for incident in incidents:
        found.setdefault(incident.vessel, []).append(incident)
    return found


def _with_name(incident: Incident, id_: str, state: State) -> Incident:
    return replace(incident, id=id_, state=state)


def _text(when: pd.Timestamp | None) -> str | None:
    return None if when is None else moment_text(when)
