"""States as a table: a row a state, a column an event."""

from dataclasses import replace
from typing import get_args

import made_register as made
import pytest

from sevenppb.detect.incidents.incident import Magnitude, State
from sevenppb.detect.register import states
from sevenppb.detect.register.finding import Finding, finding

EVENTS = ("found", "grown", "ended", "missing", "noted", "closed")
TABLE = {
    "new":          ("open", "worsening", "eased", "eased", "acknowledged", "closed"),
    "open":         ("open", "worsening", "eased", "eased", "acknowledged", "closed"),
    "worsening":    ("open", "worsening", "eased", "eased", "acknowledged", "closed"),
    "acknowledged": ("acknowledged", "worsening", "eased", "eased", "acknowledged", "closed"),
    "eased":        ("open", "worsening", "eased", "eased", "eased", "closed"),
    "closed":       ("closed",) * 6,
}  # fmt: skip


def sized(value: float, low: float, high: float, **changes: object) -> Finding:
    found = made.incident("2025-09-14", magnitude=Magnitude("vent area lost", value, low, high, "fraction"))
    return finding(replace(found, **changes))  # type: ignore[arg-type]


def test_the_table_has_every_state_and_event() -> None:
    assert set(TABLE) == set(get_args(State))
    assert set(EVENTS) == set(get_args(states.Event))


@pytest.mark.parametrize(
    ("before", "event", "after"),
    [(before, event, row[n]) for before, row in TABLE.items() for n, event in enumerate(EVENTS)],
)
def test_what_follows_from_each_state(before: State, event: states.Event, after: State) -> None:
    assert states.next_state(before, event) == after


@pytest.mark.parametrize(("event", "after"), [("found", "new"), ("ended", "eased")])
def test_the_first_listing(event: states.Event, after: State) -> None:
    assert states.next_state(None, event) == after


@pytest.mark.parametrize(
    ("now", "grown"),
    [
        (sized(0.5, 0.4, 0.6), False),  # the end of the earlier interval is not beyond it
        (sized(0.51, 0.4, 0.6), True),
        (sized(0.2, 0.1, 0.3), False),
        (sized(-0.51, -0.6, -0.4), True),  # away from zero, whichever way
        (sized(0.4, 0.3, 0.5, urgency=0.54), False),
        (sized(0.4, 0.3, 0.5, urgency=0.56), True),
        (sized(float("nan"), 0.3, 0.5), False),
        (sized(0.9, 0.8, 1.0, cause="open-vent"), False),  # another thing is measured
    ],
)
def test_growth_is_beyond_the_earlier_interval_or_clearly_more_urgent(now: Finding, grown: bool) -> None:
    assert states.grown(sized(0.4, 0.3, 0.5, urgency=0.4), now) is grown


def test_an_earlier_size_without_an_interval_can_not_be_outgrown() -> None:
    assert not states.grown(sized(0.4, float("nan"), 0.5), sized(0.9, 0.8, 1.0))


def test_an_urgency_that_could_not_be_told_is_no_rise() -> None:
    unknown = sized(0.4, 0.3, 0.5, urgency=float("nan"))
    assert unknown.urgency is None
    assert not states.grown(unknown, sized(0.4, 0.3, 0.5, urgency=0.9))
    assert not states.grown(sized(0.4, 0.3, 0.5, urgency=0.1), unknown)


def test_a_stuck_reading_has_no_size_that_grows() -> None:
    rows = [
        finding(
            made.incident(
                "2025-09-14", cause="sensor-stuck", role="level", magnitude=Magnitude("held", v, v, v, "%")
            )
        )
        for v in (50.0, 50.1)
    ]
    assert not states.grown(*rows)


def test_an_ended_incident_is_ended_however_large() -> None:
    over = sized(0.9, 0.8, 1.0, ended=made.day("2025-10-01"))
    assert states.event(over, sized(0.4, 0.3, 0.5)) == "ended"
