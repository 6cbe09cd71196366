"""Which finding is which registered incident, by hand and for any findings."""

from dataclasses import replace

import made_register as made
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sevenppb.detect.causes import CAUSES
from sevenppb.detect.register.finding import Finding, finding, from_text, to_text
from sevenppb.detect.register.matching import Known, match

PROCESS = sorted(slug for slug, cause in CAUSES.items() if cause.parameter is not None)


@st.composite
def findings(draw: st.DrawFn) -> Finding:
    """A process cause, flagged on some day of six weeks, its onset up to a month before."""
    flagged = made.WATCHED_FROM + made.DAY * draw(st.integers(0, 42))
    onset = flagged - made.DAY * draw(st.integers(0, 30))
    low, high = (made.DAY * draw(st.integers(0, 15)) for _ in range(2))
    return finding(
        made.incident(
            str(flagged.date()),
            cause=draw(st.sampled_from(PROCESS)),
            onset=onset,
            onset_interval=(onset - low, onset + high),
            urgency=draw(st.floats(0, 1)),
        )
    )


def distinct(most: int) -> st.SearchStrategy[list[Finding]]:
    """Findings as one vessel's watch gives them: one first flag a day."""
    return st.lists(findings(), max_size=most, unique_by=lambda found: found.first_flagged)


def register(rows: list[Finding]) -> list[Known]:
    until = made.WATCHED_FROM + 60 * made.DAY
    return [Known(f"DA-1/2025-{n:03d}", "open", row, row, None, until) for n, row in enumerate(rows, start=1)]


@given(findings())
def test_a_finding_survives_its_text(found: Finding) -> None:
    assert from_text(to_text(found)) == found


@given(distinct(6), distinct(6))
@settings(max_examples=60, deadline=None)
def test_each_finding_and_incident_has_at_most_one_partner(old: list[Finding], new: list[Finding]) -> None:
    matched = match(new, register(old))
    assert len(set(matched.values())) == len(matched)
    assert set(matched) <= set(range(len(new)))


@given(distinct(6), st.data())
@settings(max_examples=60, deadline=None)
def test_more_readings_never_part_an_incident_from_its_id(old: list[Finding], data: st.DataObject) -> None:
    """The day of the first flag stays; onset, size and cause may all have moved."""
    moved = []
    for row in old:
        other = data.draw(findings())
        moved.append(replace(other, first_flagged=row.first_flagged))
    order = data.draw(st.permutations(range(len(moved))))
    matched = match([moved[place] for place in order], register(old))
    assert matched == {n: f"DA-1/2025-{place + 1:03d}" for n, place in enumerate(order)}


@given(distinct(5), distinct(5), st.randoms(use_true_random=False))
@settings(max_examples=60, deadline=None)
def test_the_registers_order_does_not_matter(old: list[Finding], new: list[Finding], random: object) -> None:
    rows = register(old)
    shuffled = rows.copy()
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    assert match(new, rows) == match(new, shuffled)


WIDE = (made.day("2025-08-01"), made.day("2025-09-20"))


@pytest.mark.parametrize(
    ("flagged", "changes", "same"),
    [
        ("2025-09-14", {"cause": "tray-damage", "onset_interval": (made.day("2025-05-01"),) * 2}, True),
        ("2025-09-21", {"onset_interval": (made.day("2025-05-01"),) * 2}, True),  # within a week, same cause
        ("2025-09-21", {"cause": "tray-damage", "onset_interval": WIDE}, True),  # within a week, overlap
        ("2025-11-02", {"onset_interval": WIDE}, True),  # same cause, overlap
        ("2025-09-21", {"cause": "tray-damage", "onset_interval": (made.day("2025-05-01"),) * 2}, False),
        ("2025-11-02", {"cause": "tray-damage", "onset_interval": WIDE}, False),
        ("2025-11-02", {}, False),
        ("2025-09-14", {"cause": "sensor-stuck", "role": "level", "onset_interval": WIDE}, False),
    ],
)
def test_of_a_closed_one_the_same_first_day_or_two_of_three(
    flagged: str, changes: dict[str, object], same: bool
) -> None:
    found = finding(made.incident(flagged, **changes))
    assert bool(match([found], [made.known("2025-09-14", closed="2025-12-01")])) is same


RUNNING = made.known("2025-09-14", until="2025-10-31")  # a choked vent since 4 September


@pytest.mark.parametrize(
    ("flagged", "changes", "same"),
    [
        ("2025-10-20", {}, True),  # in readings that were told as this incident
        ("2025-10-20", {"cause": "tray-damage"}, True),  # told as another cause
        ("2025-11-05", {}, False),  # flagged after all that the incident was found in
        ("2025-11-05", {"cause": "tray-damage"}, False),
        ("2025-08-20", {}, False),  # flagged before this incident's onset
        ("2025-10-20", {"cause": "sensor-stuck", "role": "level"}, False),
        ("2025-10-20", {"cause": "sensor-drift", "role": "vent_temperature"}, True),
    ],
)
def test_what_is_flagged_inside_a_running_incident_is_that_one(
    flagged: str, changes: dict[str, object], same: bool
) -> None:
    found = finding(made.incident(flagged, **changes))
    assert bool(match([found], [RUNNING])) is same


def test_nothing_is_inside_an_incident_after_its_end() -> None:
    over = made.known("2025-05-14", ended=made.day("2025-07-01"))
    again = finding(made.incident("2025-08-14"))
    assert match([again], [over]) == {}


def test_a_second_fault_beside_one_that_is_still_found_is_another() -> None:
    """However it overlaps, and whichever cause it is told as: the one that goes on is found by itself."""
    goes_on = finding(made.incident("2025-09-16"))
    for cause in ("choked-vent", "tray-damage"):
        second = finding(made.incident("2025-10-20", cause=cause))
        assert match([second, goes_on], [RUNNING]) == {1: "DA-1/2025-001"}


def test_two_stuck_readings_of_one_day_keep_their_sensors() -> None:
    rows = [made.known("2025-09-14", f"DA-1/2025-{n}", cause="sensor-stuck", role=role)
            for n, role in enumerate(("level", "outlet_flow"))]  # fmt: skip
    found = [finding(made.incident("2025-09-14", cause="sensor-stuck", role="outlet_flow"))]
    assert match(found, rows) == {0: "DA-1/2025-1"}


def test_the_closest_pair_goes_first() -> None:
    rows = [made.known("2025-09-14", "DA-1/2025-001"), made.known("2025-09-18", "DA-1/2025-002")]
    found = [finding(made.incident("2025-09-17")), finding(made.incident("2025-09-14"))]
    assert match(found, rows) == {0: "DA-1/2025-002", 1: "DA-1/2025-001"}
    assert match([finding(made.incident("2025-09-15"))], rows) == {0: "DA-1/2025-001"}
    assert match([finding(made.incident("2025-09-17"))], rows) == {0: "DA-1/2025-002"}


@pytest.mark.parametrize(("closed", "same"), [("2025-09-03", False), ("2025-09-04", True)])
def test_what_began_after_the_closing_is_another_incident(closed: str, same: bool) -> None:
    found = finding(made.incident("2025-09-14"))  # onset on 4 September
    assert found.onset == pd.Timestamp("2025-09-04", tz="UTC")
    assert bool(match([found], [made.known("2025-09-14", closed=closed)])) is same
