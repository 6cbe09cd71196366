"""What a vessel's tags can show is told before anything is found, and honestly."""

from dataclasses import replace

import made_vessels
import pytest
from diagnosed import FIVE_TAGS

from sevenppb.detect.causes import CAUSES
from sevenppb.detect.roles import ROLES

PROCESS = {slug for slug, cause in CAUSES.items() if cause.parameter is not None}


def rows(scan):
    return {row.cause: row for row in scan.coverage}


@pytest.fixture(scope="module")
def five_tags(made):
    made = made["healthy"]
    return made_vessels.scanned(replace(made, readings=made.readings[FIVE_TAGS]))


@pytest.fixture
def few(five_tags):
    return rows(five_tags)


@pytest.fixture
def many(scan_of):
    return rows(scan_of("healthy"))


def test_every_process_cause_has_its_row(few, many, scan_of):
    assert set(few) == set(many) == PROCESS
    assert len(scan_of("healthy").coverage) == len(PROCESS)


def test_smallest_is_in_the_magnitudes_range(few, many):
    for seen in (few, many):
        for row in seen.values():
            assert row.visible == (row.smallest is not None)
            if row.visible:
                assert row.smallest > 0
            if row.visible and CAUSES[row.cause].unit == "fraction" and CAUSES[row.cause].sign < 0:
                assert row.smallest < 1


def test_more_tags_show_more(few, many):
    """A vent can't be seen in subcooling alone, and none of what five tags show is lost with more of them."""
    shown = {
        name: {c for c, row in seen.items() if row.visible} for name, seen in (("few", few), ("many", many))
    }
    assert shown["few"] < shown["many"]
    assert shown["many"] == PROCESS
    assert "open-vent" not in shown["few"]


def test_what_looks_alike_is_told_from_both_sides(few, many):
    for seen in (few, many):
        for row in seen.values():
            assert row.cause not in row.confusable_with
            for other in set(row.confusable_with) & PROCESS:
                assert row.cause in seen[other].confusable_with


def test_only_a_differential_parts_fouled_from_worn(few, many):
    assert "worn-sprays" in few["fouled-sprays"].confusable_with
    assert "spray_differential" in few["fouled-sprays"].missing_roles
    assert "worn-sprays" not in many["fouled-sprays"].confusable_with


@pytest.mark.parametrize(
    ("cause", "role"),
    [
        ("choked-vent", "vent_flow"),
        ("open-vent", "vent_flow"),
        ("steam-starvation", "steam_valve"),
    ],
)
def test_the_reading_that_would_help_is_named(few, cause, role):
    assert role in few[cause].missing_roles


def test_no_recorded_role_is_missing(few, many):
    for row in few.values():
        assert set(row.missing_roles) <= set(ROLES) - set(FIVE_TAGS)
    assert all(row.missing_roles == () for row in many.values())


def test_what_is_found_is_larger_than_the_smallest_visible(scan_of):
    for cause in sorted(PROCESS):
        found = next(i for i in scan_of(cause).incidents if i.cause == cause)
        assert found.magnitude.high > rows(scan_of(cause))[cause].smallest


def test_five_tags_are_scanned_and_say_what_they_assume(five_tags):
    assert five_tags.state == "scanned"
    assert five_tags.incidents == ()
    assert any(note.startswith("these tags don't determine ") for note in five_tags.notes)
