"""Scans and people's words → ids, states and history."""

import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import made_register as made
import pytest
from made_register import incident, scan, sized, states, vessel_scan

from sevenppb.detect.errors import RegisterFault
from sevenppb.detect.fleet import Work
from sevenppb.detect.incidents.incident import FleetScan
from sevenppb.detect.register import store
from sevenppb.detect.register.history import history

JULY, OCTOBER, JANUARY = "2025-07-01", "2025-10-01", "2026-01-01"
VENT = incident("2025-06-10")
HEAT = incident("2025-08-05", cause="heat-loss")
OTHER = incident("2025-06-10", vessel="DA-2")


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / store.NAME


def record(path: Path, found: FleetScan, when: str = "2026-02-01", *work: Work) -> store.Recorded:
    return store.record(path, found, made.fleet(*work), made.day(when))


def count(path: Path, table: str) -> int:
    with closing(sqlite3.connect(path)) as connection:
        return int(connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0])


def contents(path: Path) -> list[str]:
    with closing(sqlite3.connect(path)) as connection:
        return list(connection.iterdump())


def test_a_year_of_scans(path: Path) -> None:
    first = record(path, scan(JULY, VENT, OTHER))
    assert states(first) == {"DA-1/2025-001": "new", "DA-2/2025-001": "new"}
    assert first.changes is None

    second = record(path, scan(OCTOBER, HEAT, sized(VENT, 0.8), OTHER))
    assert states(second) == {
        "DA-1/2025-002": "new", "DA-1/2025-001": "worsening", "DA-2/2025-001": "open",
    }  # fmt: skip
    assert second.changes is not None
    assert (second.changes.since, second.changes.until) == (made.day("2026-02-01"), made.day(JULY))
    assert [row.id for row in second.changes.new] == ["DA-1/2025-002"]
    assert [row.id for row in second.changes.worsening] == ["DA-1/2025-001"]

    ended = replace(HEAT, ended=made.day("2025-10-20"))
    third = record(path, scan(JANUARY, sized(VENT, 0.8), ended))
    assert states(third) == {"DA-1/2025-001": "open", "DA-1/2025-002": "eased"}
    assert third.changes is not None
    assert [row.id for row in third.changes.eased] == ["DA-1/2025-002"]
    assert [row.id for row in third.changes.gone] == ["DA-2/2025-001"]

    fourth = record(path, scan("2026-03-01", sized(VENT, 0.8), OTHER))
    assert states(fourth) == {"DA-1/2025-001": "open", "DA-2/2025-001": "open"}
    assert fourth.changes is not None
    assert [row.id for row in fourth.changes.returned] == ["DA-2/2025-001"]

    lives = history(path)
    assert lives == fourth.lives
    assert list(lives) == ["DA-1/2025-001", "DA-1/2025-002", "DA-2/2025-001"]
    vent = lives["DA-1/2025-001"]
    assert [(seen.state, seen.found and seen.found.value) for seen in vent.seen] == [
        ("new", 0.4), ("worsening", 0.8), ("open", 0.8), ("open", 0.8),
    ]  # fmt: skip
    assert [seen.found is None for seen in lives["DA-2/2025-001"].seen] == [False, False, True, False]


def test_vessels_and_fleet_carry_the_same_names(path: Path) -> None:
    recorded = record(path, scan(JULY, OTHER, VENT))
    by_vessel = [row for vessel in recorded.scan.vessels for row in vessel.incidents]
    assert sorted(by_vessel, key=lambda row: row.rank) == list(recorded.scan.incidents)
    assert [row.rank for row in recorded.scan.incidents] == [1, 2]


def test_an_incident_keeps_its_id_while_all_else_moves(path: Path) -> None:
    record(path, scan(JULY, VENT))
    moved = replace(
        incident("2025-06-10", cause="tray-damage"), onset=made.day("2025-05-01"),
        onset_interval=(made.day("2025-04-20"), made.day("2025-05-09")),
    )  # fmt: skip
    again = record(path, scan(OCTOBER, moved))
    assert states(again) == {"DA-1/2025-001": "open"}
    assert again.lives["DA-1/2025-001"].found.cause == "tray-damage"
    assert [seen.found and seen.found.cause for seen in again.lives["DA-1/2025-001"].seen] == [
        "choked-vent", "tray-damage",
    ]  # fmt: skip


def test_the_same_scan_twice_changes_nothing(path: Path) -> None:
    record(path, scan(JULY, VENT, OTHER), "2025-07-02")
    first = record(path, scan(OCTOBER, HEAT, sized(VENT, 0.8), OTHER), "2025-10-02")
    before = contents(path)
    again = record(path, scan(OCTOBER, HEAT, sized(VENT, 0.8), OTHER), "2025-12-24")
    assert contents(path) == before
    assert again.scan.incidents == first.scan.incidents
    assert again.changes == first.changes
    # a part of it says nothing new either
    record(path, scan(OCTOBER, OTHER, vessels=("DA-2",)), "2025-12-24")
    assert contents(path) == before


def test_slow_growth_is_measured_from_what_people_last_heard(path: Path) -> None:
    """A little a month, never beyond the month before's interval, and yet twice the size in the end."""
    told = [
        states(record(path, scan(f"2025-{month:02d}-01", sized(VENT, 0.40 + 0.04 * month))))
        for month in range(7, 13)
    ]
    assert [row["DA-1/2025-001"] for row in told] == [
        "new", "open", "open", "worsening", "open", "open",
    ]  # fmt: skip


def test_a_scan_of_one_vessel_says_nothing_of_the_others(path: Path) -> None:
    record(path, scan(JULY, VENT, OTHER))
    part = record(path, scan(OCTOBER, vessels=("DA-2",)))
    assert part.changes is not None
    assert [row.id for row in part.changes.gone] == ["DA-2/2025-001"]
    assert part.changes.unseen == ()
    assert part.lives["DA-1/2025-001"].state == "new"


@pytest.mark.parametrize(
    "changes",
    [
        {"state": "failed", "error": "no export", "span": None, "baseline": None},
        {"state": "too-little-data", "error": "too little", "baseline": None},
        {"baseline": (made.day("2025-05-01"), made.day("2025-08-01"))},  # it began in the baseline
    ],
)
def test_a_scan_that_could_not_see_an_incident_says_so(path: Path, changes: dict[str, object]) -> None:
    record(path, scan(JULY, VENT))
    blind = scan(OCTOBER, vessels=("DA-1",))
    recorded = record(path, replace(blind, vessels=(vessel_scan("DA-1", OCTOBER, **changes),)))
    assert recorded.lives["DA-1/2025-001"].state == "new"
    assert recorded.changes is not None
    assert [row.id for row in recorded.changes.unseen] == ["DA-1/2025-001"]
    assert recorded.changes.gone == ()


def test_a_stuck_reading_is_missed_in_the_baseline_too(path: Path) -> None:
    stuck = incident("2025-03-01", cause="sensor-stuck", role="level")
    record(path, scan(JULY, stuck))
    assert record(path, scan(OCTOBER)).lives["DA-1/2025-001"].state == "eased"


def test_a_look_back_changes_no_state_and_is_kept(path: Path) -> None:
    record(path, scan(JULY, VENT))
    record(path, scan(JANUARY, sized(VENT, 0.8), HEAT))
    back = record(path, scan("2025-08-31", sized(VENT, 0.5)))
    assert states(back) == {"DA-1/2025-001": "worsening"}
    assert back.changes is not None
    assert (back.changes.gone, back.changes.unseen) == ((), ())
    life = back.lives["DA-1/2025-001"]
    assert life.found.value == 0.8  # what is known of January stands
    assert [(seen.state, seen.found and seen.found.value) for seen in life.seen] == [
        ("new", 0.4), ("worsening", 0.8), ("worsening", 0.5),
    ]  # fmt: skip
    assert back.lives["DA-1/2025-002"].state == "new"
    before = contents(path)
    record(path, scan("2025-08-31", sized(VENT, 0.5)))
    record(path, scan(JANUARY, sized(VENT, 0.8), HEAT))  # the last that looked ahead still stands
    assert contents(path) == before


def test_what_only_a_look_back_finds_is_listed_under_a_number_of_its_own(path: Path) -> None:
    record(path, scan(JULY, VENT))
    record(path, scan(JANUARY, VENT))
    back = record(path, scan("2025-08-31", VENT, HEAT))
    assert states(back) == {"DA-1/2025-001": "open", "DA-1/2025-002": "new"}
    again = record(path, scan(JANUARY, VENT))  # entered before, so it says nothing of what came later
    assert again.changes is not None
    assert again.changes.unseen == ()
    assert record(path, scan("2026-02-01", VENT)).lives["DA-1/2025-002"].state == "eased"


def test_numbers_are_a_vessels_own_and_of_the_year_of_the_first_flag(path: Path) -> None:
    record(path, scan(JANUARY, HEAT, VENT, OTHER))
    record(path, scan("2026-02-01", HEAT, VENT, OTHER, incident("2026-01-20", cause="tray-damage")))
    earlier = incident("2025-04-20", cause="open-vent")
    recorded = record(path, scan("2026-03-01", earlier))
    assert set(recorded.lives) == {
        "DA-1/2025-001", "DA-1/2025-002", "DA-1/2025-003", "DA-1/2026-001", "DA-2/2025-001",
    }  # fmt: skip
    assert recorded.lives["DA-1/2025-001"].found.cause == "choked-vent"
    assert [row.id for row in recorded.scan.incidents] == ["DA-1/2025-003"]


def test_a_note_acknowledges_until_it_grows(path: Path) -> None:
    record(path, scan(JULY, VENT))
    record(path, scan(OCTOBER, sized(VENT, 0.48)))
    said = store.note(path, made.NAME, "DA-1/2025-001", "orifice ordered", "Kim Moe", made.day(OCTOBER))
    assert said == "acknowledged"
    # the note was written of 0.48 ± 0.1: that is what it must outgrow
    assert states(record(path, scan("2025-11-01", sized(VENT, 0.57)))) == {"DA-1/2025-001": "acknowledged"}
    recorded = record(path, scan(JANUARY, sized(VENT, 0.59)))
    assert states(recorded) == {"DA-1/2025-001": "worsening"}
    (act,) = recorded.lives["DA-1/2025-001"].acts
    assert (act.at, act.author, act.event, act.text) == (
        made.day(OCTOBER), "Kim Moe", "noted", "orifice ordered",
    )  # fmt: skip


def test_what_comes_back_is_measured_afresh(path: Path) -> None:
    record(path, scan(JULY, sized(VENT, 0.8)))
    record(path, scan("2025-08-01"))
    assert states(record(path, scan("2025-09-01", sized(VENT, 0.5)))) == {"DA-1/2025-001": "open"}
    assert states(record(path, scan(OCTOBER, sized(VENT, 0.7)))) == {"DA-1/2025-001": "worsening"}


def test_closed_stays_closed_and_a_later_onset_is_another_incident(path: Path) -> None:
    record(path, scan(JULY, VENT))
    assert store.close(path, made.NAME, "DA-1/2025-001", "Kim Moe", made.day("2025-07-02")) == "closed"
    assert states(record(path, scan("2025-08-01", sized(VENT, 0.9)))) == {"DA-1/2025-001": "closed"}
    assert record(path, scan("2025-08-15")).lives["DA-1/2025-001"].state == "closed"
    store.note(path, made.NAME, "DA-1/2025-001", "orifice was cleaned", "Kim Moe", made.day("2025-08-16"))
    # a second closing does not move the first
    store.close(path, made.NAME, "DA-1/2025-001", "Kim Moe", made.day("2025-09-01"))
    # the same fault, its onset interval reaching back over the first closing
    wide = replace(incident("2025-08-20"), onset_interval=(made.day("2025-06-01"), made.day("2025-08-15")))
    recorded = record(path, scan(OCTOBER, wide))
    assert states(recorded) == {"DA-1/2025-002": "new"}
    assert states(record(path, scan(JANUARY, VENT, wide))) == {
        "DA-1/2025-001": "closed", "DA-1/2025-002": "open",
    }  # fmt: skip
    life = recorded.lives["DA-1/2025-001"]
    assert (life.state, [act.event for act in life.acts]) == ("closed", ["closed", "noted", "closed"])


def test_work_that_could_have_mended_an_incident_is_linked_and_kept(path: Path) -> None:
    work = (
        Work(made.day("2025-06-14"), "vent orifice cleaned", ("vent",)),
        Work(made.day("2025-06-15"), "trays inspected", ("trays",)),
        Work(made.day("2025-01-14"), "overhauled", ("all",)),  # before the onset
        Work(made.day("2025-06-16"), "looked through", ("all",)),
        Work(made.day("2025-06-20"), "level transmitter calibrated", ("sensor:level",)),
    )
    drift = incident("2025-06-12", cause="sensor-drift", role="level")
    lives = record(path, scan(JULY, VENT, drift, OTHER), JULY, *work).lives
    assert [done.what for done in lives["DA-1/2025-001"].work] == [
        "vent orifice cleaned", "looked through",
    ]  # fmt: skip
    assert [done.what for done in lives["DA-1/2025-002"].work] == [
        "looked through", "level transmitter calibrated",
    ]  # fmt: skip
    assert lives["DA-2/2025-001"].work == ()
    # taken out of the fleet file, it stays on record
    assert record(path, scan(OCTOBER, VENT)).lives["DA-1/2025-001"].work == lives["DA-1/2025-001"].work
    corrected = Work(made.day("2025-06-15"), "trays inspected", ("trays", "vent"))
    assert len(record(path, scan(OCTOBER, VENT), OCTOBER, corrected).lives["DA-1/2025-001"].work) == 3


def test_an_unknown_incident_is_answered_with_the_nearest(path: Path) -> None:
    record(path, scan(JULY, VENT, OTHER))
    with pytest.raises(RegisterFault, match=r"no incident DA-1/2025-01\. The nearest it has: DA-1/2025-001"):
        store.note(path, made.NAME, "DA-1/2025-01", "seen", "Kim Moe", made.day(JULY))
    assert count(path, "act") == 0


def test_a_register_serves_one_fleet(path: Path) -> None:
    record(path, scan(JULY, VENT))
    before = contents(path)
    with pytest.raises(RegisterFault, match='is the register of "Northmere heating plant", and this fleet'):
        record(path, replace(scan(OCTOBER), fleet="Southmere"))
    assert contents(path) == before


def test_a_scan_that_fails_midway_leaves_the_old_state(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    record(path, scan(JULY, VENT, OTHER))
    before = contents(path)
    enter = store._enter_sighting
    entered = []

    def fail_at_the_second(*arguments: object) -> None:
        enter(*arguments)  # type: ignore[arg-type]
        entered.append(arguments)
        if len(entered) == 2:
            raise KeyboardInterrupt

    monkeypatch.setattr(store, "_enter_sighting", fail_at_the_second)
    with pytest.raises(KeyboardInterrupt):
        record(path, scan(OCTOBER, VENT, OTHER, HEAT))
    assert len(entered) == 2
    assert contents(path) == before


def test_a_clock_that_was_set_back_changes_no_order(path: Path) -> None:
    record(path, scan(JULY, VENT), "2026-02-01")
    second = record(
        path, scan(OCTOBER, sized(VENT, 0.8)), "2020-01-01"
    )  # by the readings, three months later
    assert states(second) == {"DA-1/2025-001": "worsening"}
    assert second.changes is not None
    assert second.changes.until == made.day(JULY)
    third = record(path, scan(OCTOBER, sized(VENT, 0.8)), "2019-01-01")
    assert states(third) == states(second)
    assert count(path, "scan") == 2


def test_looking_up_changes_nothing_and_gives_no_new_id(path: Path) -> None:
    record(path, scan(JULY, VENT))
    grown = record(path, scan(OCTOBER, sized(VENT, 0.9)))
    assert states(grown) == {"DA-1/2025-001": "worsening"}
    before = path.read_bytes()
    seen = store.looked_up(path, scan(JANUARY, sized(VENT, 0.9), HEAT))
    assert path.read_bytes() == before
    assert [(row.id, row.state) for row in seen.incidents] == [("DA-1/2025-001", "worsening"), ("", "new")]
    over = replace(VENT, ended=made.day("2025-12-01"))
    store.close(path, made.NAME, "DA-1/2025-001", "Kim Moe", made.day(JANUARY))
    assert [row.state for row in store.looked_up(path, scan(JANUARY, over)).incidents] == ["closed"]


def test_without_a_register_nothing_is_listed(tmp_path: Path) -> None:
    seen = store.looked_up(tmp_path / store.NAME, scan(JULY, VENT))
    assert [(row.id, row.state) for row in seen.incidents] == [("", "new")]
    assert list(tmp_path.iterdir()) == []
