"""What the register tells: what changed since the last scan, and each incident's life over all scans."""

import json
import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import pandas as pd

from sevenppb.detect.causes import CAUSES
from sevenppb.detect.fleet import Work
from sevenppb.detect.incidents.incident import State
from sevenppb.detect.register.file import transaction
from sevenppb.detect.register.finding import Finding, from_text, moment


@dataclass(frozen=True)
class Changed:
    """An incident that changed, as it was last found."""

    id: str
    vessel: str
    found: Finding


@dataclass(frozen=True)
class Changes:
    """What a scan changed against the one before it, recorded at `since` with readings until `until`.

    new        listed for the first time
    worsening  grown beyond what people last heard of
    returned   had eased and is there again
    eased      found to be over
    gone       no longer found, in readings that would show it
    unseen     still open, but this scan could not have seen it
    """

    since: pd.Timestamp
    until: pd.Timestamp | None
    new: tuple[Changed, ...]
    worsening: tuple[Changed, ...]
    returned: tuple[Changed, ...]
    eased: tuple[Changed, ...]
    gone: tuple[Changed, ...]
    unseen: tuple[Changed, ...]


@dataclass(frozen=True)
class Seen:
    """An incident at one scan: when that was recorded, where its readings ended, and what it found (None: it
    no longer found the incident)."""

    recorded: pd.Timestamp
    until: pd.Timestamp | None
    state: State
    found: Finding | None


@dataclass(frozen=True)
class Act:
    """What a person did: a note, or the closing."""

    at: pd.Timestamp
    author: str
    event: Literal["noted", "closed"]
    text: str


@dataclass(frozen=True)
class Life:
    """An incident over all scans. `work` is the work on its vessel since the onset that could have mended
    it."""

    id: str
    vessel: str
    state: State
    found: Finding
    seen: tuple[Seen, ...]
    acts: tuple[Act, ...]
    work: tuple[Work, ...]


def history(path: Path) -> dict[str, Life]:
    """Every incident of a register by its id. Raises RegisterFault."""
    with transaction(path) as connection:
        return lives(connection)


def lives(connection: sqlite3.Connection) -> dict[str, Life]:
    """Every incident by its id, in the order of vessel and first listing."""
    seen: dict[str, list[Seen]] = {}
    for incident, recorded, until, state, text in connection.execute(
        "SELECT incident, recorded, look.until, sighting.state, finding FROM sighting"
        " JOIN scan ON scan.id = sighting.scan JOIN incident ON incident.id = incident"
        " JOIN look ON look.scan = sighting.scan AND look.vessel = incident.vessel ORDER BY scan.id"
    ):
        seen.setdefault(incident, []).append(
            Seen(
                moment(recorded),
                None if until is None else moment(until),
                state,
                None if text is None else from_text(text),
            )
        )
    acts: dict[str, list[Act]] = {}
    for incident, at, author, event, text in connection.execute(
        "SELECT incident, at, author, event, text FROM act ORDER BY id"
    ):
        acts.setdefault(incident, []).append(Act(moment(at), author, event, text))
    work = _work(connection)
    return {
        row.id: Life(
            row.id,
            row.vessel,
            state,
            row.found,
            tuple(seen[row.id]),
            tuple(acts.get(row.id, ())),
            tuple(done for done in work.get(row.vessel, ()) if could_mend(done, row.found)),
        )
        for row, state in _incidents(connection)
    }


def could_mend(work: Work, found: Finding) -> bool:
    """Whether work done bears on an incident: not before its onset, and on what its cause is about."""
    cause = f"sensor:{found.role}" if found.role is not None else CAUSES[found.cause].resets
    return work.date >= found.onset_low and ("all" in work.resets or cause in work.resets)


def changes(connection: sqlite3.Connection, looks: Mapping[str, int]) -> Changes | None:
    """What the looks at some vessels changed; None if none of these vessels was scanned before.

    looks  vessel → the scan that looked at it
    """
    earlier = max(
        (
            row
            for vessel, scan in looks.items()
            for row in connection.execute(
                "SELECT scan.id, recorded, scan.until FROM scan JOIN look ON look.scan = scan.id"
                " WHERE vessel = ? AND scan.id < ? ORDER BY scan.id DESC LIMIT 1",
                (vessel, scan),
            )
        ),
        default=None,
        key=lambda row: row[0],
    )
    if earlier is None:
        return None
    _, since, until = earlier
    listed: dict[str, dict[str, tuple[Changed, State]]] = {}  # by vessel
    for row, state in _incidents(connection):
        listed.setdefault(row.vessel, {})[row.id] = (row, state)
    by_kind: dict[str, list[Changed]] = {}
    for vessel, scan in looks.items():
        own = listed.get(vessel, {})
        # CROSS JOIN: SQLite begins with the vessel's few incidents, not with all that the scan saw
        told = connection.execute(
            "SELECT incident, before, sighting.state, finding IS NOT NULL FROM incident"
            " CROSS JOIN sighting ON incident.id = incident WHERE scan = ? AND vessel = ? ORDER BY incident",
            (scan, vessel),
        ).fetchall()
        for incident, before, after, found in told:
            kind = _kind(before, after, bool(found))
            if kind is not None:
                by_kind.setdefault(kind, []).append(own[incident][0])
        by_kind.setdefault("unseen", []).extend(
            row
            for row, state in own.values()
            if state not in ("eased", "closed")
            and row.id not in {incident for incident, *_ in told}
            and _judging(connection, row.id, vessel, scan)
        )
    kinds = ("new", "worsening", "returned", "eased", "gone", "unseen")
    return Changes(
        moment(since),
        None if until is None else moment(until),
        **{kind: tuple(by_kind.get(kind, ())) for kind in kinds},
    )


def _kind(before: State | None, after: State, found: bool) -> str | None:
    if before is None:
        return "new"
    if not found:
        return "gone"
    if after == "worsening":
        return "worsening"
    if before == "eased" and after == "open":
        return "returned"
    return "eased" if after == "eased" and before != "eased" else None


def _judging(connection: sqlite3.Connection, incident: str, vessel: str, scan: int) -> bool:
    """Whether a scan tells of the incident's present: it is no look back, and not before its listing."""
    (back,) = connection.execute(
        "SELECT back FROM look WHERE scan = ? AND vessel = ?", (scan, vessel)
    ).fetchone()
    (first,) = connection.execute("SELECT min(scan) FROM sighting WHERE incident = ?", (incident,)).fetchone()
    return not back and first < scan


def _incidents(connection: sqlite3.Connection) -> Sequence[tuple[Changed, State]]:
    return [
        (Changed(row_id, vessel, from_text(text)), state)
        for row_id, vessel, state, text in connection.execute(
            "SELECT incident.id, vessel, incident.state, finding FROM incident"
            " JOIN sighting ON incident.id = incident AND scan = latest ORDER BY vessel, incident.id"
        )
    ]


def _work(connection: sqlite3.Connection) -> dict[str, list[Work]]:
    done: dict[str, list[Work]] = {}
    for vessel, date, what, resets in connection.execute(
        "SELECT vessel, date, what, resets FROM work ORDER BY date, what"
    ):
        done.setdefault(vessel, []).append(Work(moment(date), what, tuple(json.loads(resets))))
    return done
