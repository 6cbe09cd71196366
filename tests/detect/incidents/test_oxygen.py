"""Outlet oxygen against its limit: what the change adds, and the day on which it passed."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from sevenppb.detect.incidents import oxygen

INDEX = pd.date_range("2025-01-01", periods=100, tz="UTC")
ONSET, LIMIT = 60, 7.0
RECENT = np.arange(72, 100)
UPPER = {"outlet_oxygen": (9.0, 6.0)}


def days(values):
    return SimpleNamespace(index=INDEX, seen=pd.DataFrame({"outlet_oxygen": values}, index=INDEX))


def lately(values, levels=UPPER, cause="tray-damage", factor=1.0):
    best, change = SimpleNamespace(cause=cause), SimpleNamespace(onset=ONSET)
    return oxygen.lately(days(values), best, change, RECENT, levels, factor, LIMIT)


def stepped(before, after):
    return np.where(np.arange(100) < ONSET, before, after)


def reached(values, levels=UPPER):
    best = SimpleNamespace(cause="tray-damage", candidate="any")
    change = SimpleNamespace(onset=ONSET)
    return oxygen.limit_reached(days(values), best, change, None, lately(values, levels))


def test_what_was_over_before_was_not_passed_by_the_change():
    values = stepped(15.0, 16.0)
    found = lately(values, {"outlet_oxygen": (16.0, 15.4)})
    assert found.over_before
    assert (found.excess, found.added) == pytest.approx((9.0, 0.6))
    assert reached(values, {"outlet_oxygen": (16.0, 15.4)}) is None


def test_what_was_under_before_is_passed_on_a_day_since_the_onset():
    values = stepped(6.0, 9.0)
    values[[40, 50, 65]] = 9.0, 9.0, 6.0  # single days are no passing
    found = lately(values)
    assert not found.over_before
    assert found.added is None
    told = reached(values)
    assert (told.at, told.low, told.high) == (INDEX[ONSET],) * 3


def test_a_change_that_lowers_oxygen_passes_no_limit():
    assert reached(stepped(6.0, 9.0), {"outlet_oxygen": (9.0, 11.0)}) is None


def test_a_single_day_over_does_not_pass_the_limit():
    values = stepped(5.0, 6.0)
    values[62], values[90:] = 8.0, 9.0
    assert reached(values).at == INDEX[90]


def test_days_not_read_are_no_days_under_the_limit():
    values = stepped(6.0, 9.0)
    values[61:66] = np.nan
    assert reached(values).at == INDEX[ONSET]


def test_scattered_days_over_pass_no_limit():
    values = stepped(5.0, 6.0)
    values[[62, 75, 88]] = 80.0
    assert reached(values) is None


@pytest.mark.parametrize(
    ("read", "without", "added"),
    [(9.0, 8.0, 1.0), (9.0, 6.0, 2.0), (9.0, 11.0, 0.0), (6.5, 6.0, None)],
)
def test_a_change_adds_no_more_than_there_is_over_the_limit(read, without, added):
    assert lately(stepped(8.0, 9.0), {"outlet_oxygen": (read, without)}).added == added


def test_raised_inlet_oxygen_is_of_the_leaks_making_and_of_no_other_cause():
    levels = {"outlet_oxygen": (12.0, 10.0), "inlet_oxygen": (1500.0, 750.0)}
    assert lately(stepped(8.0, 12.0), levels, "air-in-leakage").without == pytest.approx(5.0)
    assert lately(stepped(8.0, 12.0), levels, "tray-damage").without == pytest.approx(10.0)


def test_where_the_change_cannot_be_told_in_oxygen_the_cause_says_what_it_does():
    found = lately(stepped(5.0, 9.0), {}, factor=1.5)
    assert (found.read, found.without) == pytest.approx((9.0, 6.0))


def test_oxygen_that_is_not_read_lately_is_none():
    assert lately(stepped(5.0, np.nan), {}) is None
