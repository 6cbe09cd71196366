"""Whatever a plant, its scans and its people do: no incident is listed twice, renamed or forgotten."""

import tempfile
from dataclasses import replace
from pathlib import Path

import made_register as made
import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st

from sevenppb.detect.incidents.incident import FleetScan, Incident
from sevenppb.detect.register import store
from sevenppb.detect.register.history import history

# what truly happens: (vessel, first flagged), one a day, as a watch gives them
FAULTS = [("DA-1", "2025-05-01"), ("DA-1", "2025-05-19"), ("DA-1", "2025-08-02"), ("DA-2", "2025-05-02")]
CAUSES = ("choked-vent", "tray-damage", "heat-loss")
Scanned = tuple[FleetScan, set[pd.Timestamp]]
UNTILS = ("2025-05-10", "2025-06-01", "2025-09-01", "2025-12-31")


@st.composite
def scans(draw: st.DrawFn) -> Scanned:
    """A scan of some vessels up to some day, with each fault flagged by then as it then looks; and those that it no
    longer finds, if they were listed before: a watch flags in time what it ever flags."""
    until = draw(st.sampled_from(UNTILS))
    vessels = draw(st.sampled_from((("DA-1", "DA-2"), ("DA-1",), ("DA-2",))))
    rows, lost = [], set()
    for vessel, flagged in FAULTS:
        if vessel in vessels and flagged <= until:
            found = made.incident(
                flagged,
                vessel=vessel,
                cause=draw(st.sampled_from(CAUSES)),
                onset=made.day(flagged) - made.DAY * draw(st.integers(0, 40)),
                ended=draw(st.sampled_from((None, None, made.day(until)))),
                urgency=draw(st.sampled_from((0.2, 0.3, 0.6))),
            )
            rows.append(found)
            if not draw(st.integers(0, 4)):
                lost.add(found.first_flagged)
    return made.scan(until, *draw(st.permutations(rows)), vessels=vessels), lost


def without(scan: FleetScan, lost: set[pd.Timestamp], listed: dict[tuple[str, str], str]) -> FleetScan:
    kept = [row for row in scan.incidents if row.first_flagged not in lost or fault(row) not in listed]
    return replace(scan, incidents=tuple(kept))


def fault(row: Incident) -> tuple[str, str]:
    return row.vessel, str(row.first_flagged.date())


deeds = st.tuples(st.sampled_from(("note", "close")), st.integers(0, 3))


@given(st.lists(st.one_of(scans(), scans(), deeds), max_size=8))
@settings(max_examples=25, deadline=None)
def test_any_year(steps: list[Scanned | tuple[str, int]]) -> None:
    ids: dict[tuple[str, str], str] = {}
    seen: dict[str, int] = {}
    closed: set[str] = set()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / store.NAME
        for n, step in enumerate(steps):
            when = made.day("2026-01-01") + n * made.DAY
            if isinstance(step[0], FleetScan):
                found = without(step[0], step[1], ids)
                recorded = store.record(path, found, made.fleet(), when)
                for row in recorded.scan.incidents:
                    assert ids.setdefault(fault(row), row.id) == row.id
                    assert row.state == recorded.lives[row.id].state
                assert len(set(ids.values())) == len(ids)
                assert set(recorded.lives) == set(ids.values())
                again = store.record(path, found, made.fleet(), when + made.DAY)
                assert again == recorded
            elif ids:
                chosen = sorted(ids.values())[step[1] % len(ids)]
                if step[0] == "close":
                    store.close(path, made.NAME, chosen, "Kim Moe", when)
                    closed.add(chosen)
                else:
                    store.note(path, made.NAME, chosen, "seen", "Kim Moe", when)
            if ids:
                lives = history(path)
                assert {row.id for row in lives.values() if row.state == "closed"} == closed
                for row in lives.values():
                    assert len(row.seen) >= seen.get(row.id, 1)
                    seen[row.id] = len(row.seen)
