"""What a growing change does to oxygen and steam, and when the limit is reached."""

from dataclasses import replace

import diagnosed
import numpy as np
import pandas as pd
import pytest

from sevenppb.detect.balance import fit
from sevenppb.detect.diagnosis.change import Change
from sevenppb.detect.diagnosis.likelihood import Explanation
from sevenppb.detect.incidents import projection
from sevenppb.detect.incidents.incident import LimitReached


@pytest.fixture(scope="module")
def bench(made):
    return diagnosed.bench(made["healthy"])


@pytest.fixture(scope="module")
def at(bench):
    rows = np.flatnonzero(bench.days.hours > 0)[-28:]
    return fit.take(bench.days.at, rows)


def change(bench, shape, length=60, full=None):
    """Of the last `length` days; a ramp still rises where `full` is None."""
    n, f = bench.days.residual.shape
    onset = n - length
    zero = np.zeros(f)
    return Change(shape, onset, onset, onset, full, np.zeros(n), zero, zero, n)


def explained(bench, cause):
    candidate = next(c for c in bench.signed.candidates if c.name == cause)
    return Explanation(candidate, cause, None, 1.0, 1.0, 0.8, 1.2, np.zeros(1))


def ahead(bench, at, cause, shape, days, full=None, size=1.0):
    return projection.outlook(
        bench.days, explained(bench, cause), change(bench, shape, full=full), at, size, days
    )


def test_a_ramp_goes_on_at_its_mean_rate(bench, at):
    """Sixty days after an onset sixty days ago it is twice the size."""
    later = ahead(bench, at, "tray-damage", "ramp", 60)
    twice = ahead(bench, at, "tray-damage", "ramp", 0, size=2.0)
    assert later.oxygen_factor == pytest.approx(twice.oxygen_factor, rel=1e-9)
    assert later.oxygen_factor > ahead(bench, at, "tray-damage", "ramp", 0).oxygen_factor > 1.0


def test_a_step_and_a_ramp_at_rest_stay(bench, at):
    last = len(bench.days.index) - 1
    for shape, full in (("step", None), ("intermittent", None), ("ramp", last - 30)):
        now, then = (ahead(bench, at, "tray-damage", shape, days, full) for days in (0, 90))
        assert now == then


def test_steam_is_lost_by_an_open_vent_and_by_heat_loss_only(bench, at):
    assert ahead(bench, at, "open-vent", "step", 0).steam_lost > 0
    assert ahead(bench, at, "heat-loss", "step", 0).steam_lost > 0
    assert ahead(bench, at, "choked-vent", "step", 0).steam_lost == 0
    assert ahead(bench, at, "steam-starvation", "step", 0).steam_lost == 0


def test_an_open_vent_loses_its_own_steam_and_what_hotter_water_takes(bench, at):
    """By hand: opened by a log step of 0.4, the vent passes exp(0.4) of what it did; less gas inside lets
    the water come nearer to boiling, by less steam than that."""
    found = ahead(bench, at, "open-vent", "step", 0)
    vent = bench.days.fitted.health.vent_share * bench.days.fitted.health.flow
    own = vent * float(np.median(at.vent_valve)) * (np.exp(0.4) - 1.0)
    assert 0.9 * own < found.steam_lost < 2.0 * own


def test_days_to_a_limit(bench, at):
    cause, ramp, step = explained(bench, "tray-damage"), change(bench, "ramp"), change(bench, "step")
    now = ahead(bench, at, "tray-damage", "ramp", 0).oxygen_factor

    def days_to(factor, course):
        return projection.days_to(factor, bench.days, cause, course, at, 1.0)

    assert days_to(0.9 * now, ramp) == 0
    soon, late = days_to(1.2 * now, ramp), days_to(3.0 * now, ramp)
    assert 0 < soon < late
    reached = ahead(bench, at, "tray-damage", "ramp", soon).oxygen_factor
    assert reached >= 1.2 * now > ahead(bench, at, "tray-damage", "ramp", soon - 1).oxygen_factor
    assert days_to(1e30, ramp) is None
    assert days_to(1.2 * now, step) is None


def test_what_no_parameter_makes_has_no_outlook(bench, at):
    nothing = replace(explained(bench, "tray-damage"), candidate=None, cause="unexplained")
    found = projection.outlook(bench.days, nothing, change(bench, "ramp"), at, 1.0, 90)
    assert (found.oxygen_factor, found.steam_lost) == (1.0, 0.0)


def test_the_path_ahead_crosses_the_limit_on_the_day_that_is_told(bench, at):
    cause, ramp = explained(bench, "tray-damage"), change(bench, "ramp")
    now = projection.outlook(bench.days, cause, ramp, at, 1.0, 0).oxygen_factor
    told = projection.days_to(1.4 * now, bench.days, cause, ramp, at, 1.0)
    last = bench.days.index[-1]
    reached = LimitReached("outlet_oxygen", last + pd.Timedelta(days=told), None, None)
    path = projection.projected(bench.days, cause, ramp, at, 5.0, reached)
    now_read = path[0]  # needs no projection
    assert now_read.day == last
    assert (now_read.value, now_read.low, now_read.high) == pytest.approx((5.0, 5.0, 5.0))
    crossed = next(row for row in path if row.value >= 1.4 * 5.0)
    assert crossed.day - pd.Timedelta(days=projection.WEEK) < reached.at <= crossed.day
    assert all(row.low < row.value < row.high for row in path[1:10])
    assert (path[-1].day - last).days > told


def test_nothing_is_projected_that_does_not_grow_or_is_not_read(bench, at):
    cause = explained(bench, "tray-damage")
    assert projection.projected(bench.days, cause, change(bench, "step"), at, 5.0, None) == ()
    assert projection.projected(bench.days, cause, change(bench, "ramp"), at, None, None) == ()
    some = projection.projected(bench.days, cause, change(bench, "ramp"), at, 5.0, None)
    assert (some[-1].day - some[0].day).days == 84  # the last whole week of SHORTEST
