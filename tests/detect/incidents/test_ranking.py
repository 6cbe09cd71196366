"""Rank, id and severity: the order of a fleet's incidents, and that it stays."""

import doctest
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from sevenppb.detect.causes import CAUSES
from sevenppb.detect.incidents import build, supply, urgency
from sevenppb.detect.quality.readings import Stuck

SETTING = build.Setting("DA-1", {"outlet_oxygen": 7.0}, None)
DAY = pd.Timedelta(days=1)


def day(text):
    return pd.Timestamp(text, tz="UTC")


def stuck(role="outlet_oxygen", start="2025-03-01", end="2025-03-20", last="2025-12-31"):
    return build.from_stuck(Stuck(role, day(start), day(end), 4.2), SETTING, 3 * DAY, day(last))


def found(vessel, flagged, urgent):
    return replace(stuck(), vessel=vessel, first_flagged=day(flagged), urgency=urgent)


@pytest.mark.parametrize(
    ("end", "first_without"),
    [
        ("2025-03-20T23:40", "2025-03-21"),
        ("2025-03-20T09:00", "2025-03-21"),
        ("2025-03-21T00:00", "2025-03-21"),
        ("2025-12-30T20:00", None),
    ],
)
def test_a_stuck_reading_has_ended_on_the_first_day_without_it(end, first_without):
    assert stuck(end=end).ended == (None if first_without is None else day(first_without))


def test_urgency_orders_and_ids_count_a_vessels_year():
    ranked = build.ranked(
        [
            found("DA-1", "2024-11-01", 0.1),
            found("DA-1", "2025-06-01", 0.9),
            found("DA-2", "2025-02-01", 0.5),
            found("DA-1", "2025-02-01", 0.3),
        ]
    )
    assert [i.rank for i in ranked] == [1, 2, 3, 4]
    assert [i.id for i in ranked] == ["DA-1/2025-002", "DA-2/2025-001", "DA-1/2025-001", "DA-1/2024-001"]


def test_ids_do_not_hang_on_later_incidents_or_on_urgency():
    first = [found("DA-1", "2025-02-01", 0.3), found("DA-1", "2025-04-01", 0.2)]
    then = [replace(i, urgency=1.0 - i.urgency) for i in first] + [found("DA-1", "2025-09-01", 0.99)]
    before = {i.first_flagged: i.id for i in build.ranked(first)}
    after = {i.first_flagged: i.id for i in build.ranked(then)}
    assert before.items() <= after.items()


def test_rank_does_not_hang_on_the_order_given():
    several = [found("DA-1", f"2025-0{m}-01", u) for m, u in ((1, 0.2), (2, 0.9), (3, 0.2), (4, 0.5))]
    ranked = build.ranked(several)
    assert build.ranked(several[::-1]) == ranked


def test_nothing_ranks_to_nothing():
    assert build.ranked([]) == ()


def test_the_worked_example_holds():
    assert doctest.testmod(urgency).attempted >= 2
    assert doctest.testmod(urgency).failed == 0


@pytest.mark.parametrize(
    ("oxygen", "without", "steam", "role", "expected"),
    [
        (2.0, 0.4, 0.0, None, 1.0),  # 14 ppb against 7
        (0.5, 0.4, 0.0, None, 0.05),  # half the limit is no consequence, yet deserves a look
        (2.3, 2.3, 0.0, None, 0.05),  # nor is what was there anyway
        (2.3, 2.2, 0.0, None, 0.2),  # 2 * 0.1
        (2.3, 1.3, 0.0, None, 1.0),  # a whole limit more
        (1.0, 2.0, 0.0, None, 0.05),  # less than there would be
        (None, None, 0.01, None, 1.0),  # a hundredth of the water flow as steam lost
        (None, None, 0.0, "outlet_oxygen", 0.6),
        (None, None, 0.0, "steam_flow", 0.35),
        (1.25, 0.9, 0.005, None, 0.75),  # 1 - 0.5 * 0.5, since 2 * 0.35 is more than 0.5
    ],
)
def test_severity_by_hand(oxygen, without, steam, role, expected):
    assert urgency.severity(oxygen, without, steam, role, None) == pytest.approx(expected)


@pytest.mark.parametrize(
    ("valve", "role", "expected"),
    [
        ((0.98, 0.75), None, 0.8),
        ((1.0, 0.75), None, 1.0),
        ((0.90, 0.60), None, 0.05),  # a tenth of its travel is left
        ((0.98, 0.97), None, 0.1),  # wide open anyway
        ((0.98, 1.08), None, 0.05),  # it should be wider
        ((0.98, 0.75), "steam_valve", 0.35),  # a wrong reading opens no valve
    ],
)
def test_a_steam_valve_near_its_end_is_severe(valve, role, expected):
    assert urgency.severity(0.3, 0.3, 0.0, role, valve) == pytest.approx(expected)


def test_the_valve_counts_at_high_load_and_by_what_the_change_opens_it():
    read = pd.Series(np.linspace(0.80, 1.00, 101))  # nine tenths of it below 0.98
    days = SimpleNamespace(seen={"steam_valve": read})
    found = supply.opening(days, np.arange(101), {"steam_valve": (0.90, 0.70)})
    assert found == pytest.approx((0.98, 0.78))
    assert supply.opening(days, np.arange(101), {"outlet_oxygen": (5.0, 3.0)}) is None


def test_severity_rises_with_each_consequence_and_stays_a_share():
    oxygen = [urgency.severity(x, 0.8, 0.001, None, None) for x in np.linspace(0, 4, 30)]
    steam = [urgency.severity(0.8, 0.4, x, "steam_flow", None) for x in np.linspace(0, 0.03, 30)]
    valve = [urgency.severity(0.8, 0.4, 0.001, None, (x, 0.6)) for x in np.linspace(0, 1.05, 30)]
    for values in (oxygen, steam, valve):
        assert np.all(np.diff(values) >= 0)
        assert 0.05 <= min(values) <= max(values) <= 1.0
        assert values[-1] > values[0]


def test_a_stuck_reading_is_an_incident_with_its_value():
    told = stuck()
    assert (told.cause, told.role) == ("sensor-stuck", "outlet_oxygen")
    assert (told.magnitude.value, told.magnitude.unit) == (4.2, "ppb")
    assert told.first_flagged == day("2025-03-04")
    assert told.onset == day("2025-03-01")
    assert told.checks == CAUSES["sensor-stuck"].checks


def test_a_reading_that_moves_again_has_eased():
    over, still = stuck(end="2025-03-20"), stuck(end="2025-12-30 22:00")
    assert (over.state, over.ended) == ("eased", day("2025-03-20"))
    assert (still.state, still.ended) == ("new", None)
    assert over.urgency < still.urgency


def test_a_blinding_sensor_is_more_urgent():
    assert stuck("outlet_oxygen").urgency > stuck("makeup_flow").urgency
