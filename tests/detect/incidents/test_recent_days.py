"""Over which days an incident's evidence, consequence and size are averaged."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from sevenppb.detect.features import WATCHED
from sevenppb.detect.incidents import build, ends, evidence
from sevenppb.detect.roles import possible

COUNT = 100
RAN = np.where(np.arange(COUNT) % 10 == 0, 0.0, 24.0)  # every tenth day stands still
DAYS = SimpleNamespace(hours=RAN, index=range(COUNT))


@pytest.mark.parametrize(
    ("onset", "end", "first", "last", "count"),
    [
        (20, COUNT, 69, 99, ends.RECENT),  # long there: the last days that ran
        (95, COUNT, 95, 99, 5),  # young: none before it began
        (35, 50, 35, 49, 14),  # over: none after it had gone
        (90, 91, 59, 89, ends.RECENT),  # not one day ran since: those before are all there is
    ],
)
def test_no_day_before_the_onset_or_after_the_end(onset, end, first, last, count):
    change = SimpleNamespace(shape="step", onset=onset)
    rows = build._recent(DAYS, change, end)
    assert (rows[0], rows[-1], len(rows)) == (first, last, count)
    assert (RAN[rows] > 0).all()


def test_what_comes_and_goes_is_told_by_its_days_on():
    on = np.arange(COUNT) % 7 == 5
    change = SimpleNamespace(shape="intermittent", onset=40, course=on.astype(float))
    assert list(build._recent(DAYS, change, COUNT)) == [47, 54, 61, 68, 75, 82, 89, 96]


@pytest.mark.parametrize(
    ("shape", "course", "averaged"),
    [
        ("intermittent", [0, 0, 1, 1, 1, 1], True),  # one level for all its days
        ("intermittent", [0, 0, 1, 0, 1, 1], False),  # of its days on alone
        ("step", [0, 0, 1, 1, 1, 1], False),
    ],
)
def test_a_size_is_a_mean_where_days_on_and_off_have_one_level(shape, course, averaged):
    change = SimpleNamespace(shape=shape, course=np.array(course), onset=2, end=6)
    assert build._averaged(change) is averaged


@pytest.mark.parametrize(
    ("role", "value", "expected"),
    [
        ("steam_valve", 1.08, 1.0),
        ("vent_valve", -0.02, 0.0),
        ("steam_valve", 0.9, 0.9),
        ("level", 1.08, 1.08),
    ],
)
def test_no_valve_is_expected_beyond_its_travel(role, value, expected):
    assert possible(role, value) == expected


def test_a_cause_moves_no_valve_beyond_its_travel():
    base = evidence.Base(place=0, column=0, seen=0.9, without=1.08)
    told = SimpleNamespace(pattern=[-0.12])
    assert evidence._move(WATCHED["steam_valve"], base, told) == pytest.approx(-0.04)  # from 1 to 0.96


STOOD = pd.date_range("2025-01-01", periods=12, tz="UTC")
HOURS = np.array([24, 24, 0, 0, 0, 0, 24, 24, 0, 0, 24, 24.0])


@pytest.mark.parametrize(
    ("end", "stretch"),
    [
        (1, None),  # while it ran
        (2, (2, 5)),  # on its first day
        (4, (2, 5)),
        (6, (2, 5)),  # gone when it ran again
        (7, None),
        (9, None),  # too short to tell
    ],
)
def test_an_end_lies_in_the_standstill_around_or_before_it(end, stretch):
    found = build._standstill(SimpleNamespace(hours=HOURS, index=STOOD), end)
    assert found == (None if stretch is None else tuple(STOOD[n] for n in stretch))


def test_a_standstill_may_last_to_the_end_of_the_readings():
    found = build._standstill(SimpleNamespace(hours=HOURS[:6], index=STOOD[:6]), 4)
    assert found == (STOOD[2], STOOD[5])


@pytest.mark.parametrize(
    ("shape", "full", "end", "told"),
    [
        ("ramp", 40, 40 + build.AT_REST, 40),
        ("ramp", 40, 39 + build.AT_REST, None),  # too lately for how uncertain its days are
        ("ramp", None, 400, None),  # still growing
        ("ramp", 30, 400, None),  # all of it on one day
        ("step", 40, 400, None),
    ],
)
def test_a_ramp_is_told_to_have_come_to_rest_only_where_it_clearly_has(shape, full, end, told):
    change = SimpleNamespace(shape=shape, onset=30, full=full, end=end)
    assert build._grown(SimpleNamespace(index=range(400)), change) == told
