"""A plan always gives the same numbers, labels say what was done, and nothing here knows the detector."""

import ast
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from sevenppb import synthetic
from sevenppb.synthetic.faults import CAUSES, Fault
from sevenppb.synthetic.historian import compressed, hourly_frames
from sevenppb.synthetic.sensors import INSTRUMENTS
from sevenppb.synthetic.simulation import FleetPlan, PlannedFault, drawn_specs, simulate, times
from sevenppb.synthetic.tuning import tuned

DRAWN = FleetPlan(seed=4, vessels=3, healthy=1, days=16, step_minutes=60, baseline_days=5)
SMALL = replace(DRAWN, specs=tuple(tuned(drawn_specs(DRAWN))))


def test_same_seed_same_numbers_other_seed_others() -> None:
    first, again = simulate(SMALL), simulate(SMALL)
    for a, b in zip(first, again, strict=True):
        assert a.spec == b.spec
        assert a.labels == b.labels
        pd.testing.assert_frame_equal(a.readings, b.readings)
    drawn, elsewhere = simulate(DRAWN), simulate(replace(DRAWN, seed=5))
    assert [v.spec for v in drawn] == [v.spec for v in first]
    assert drawn[0].spec != elsewhere[0].spec


def test_a_vessel_is_the_same_in_any_company() -> None:
    alone = replace(SMALL, specs=SMALL.specs[:1] if SMALL.specs else None, healthy=1)
    among = replace(
        SMALL, faults=(PlannedFault(1, Fault("choked-vent", 5.0, 5.0, None, "step", 0.5, "fraction")),)
    )
    pd.testing.assert_frame_equal(simulate(alone)[0].readings, simulate(among)[0].readings)


def test_recording_more_roles_changes_no_reading() -> None:
    some = simulate(replace(SMALL, roles=("shell_pressure", "storage_temperature"), bad_values=False))
    every = simulate(replace(SMALL, roles="all", bad_values=False))
    for a, b in zip(some, every, strict=True):
        assert list(a.readings) == ["shell_pressure", "storage_temperature"]
        assert "storage_temperature" in b.readings
        pd.testing.assert_series_equal(a.readings["storage_temperature"], b.readings["storage_temperature"])


def test_labels_say_who_is_sick_and_when() -> None:
    plan = replace(DRAWN, vessels=13, healthy=2, days=260, step_minutes=60, baseline_days=180)
    made = simulate(plan)
    assert [len(v.labels) for v in made] == [1] * 11 + [0, 0]
    assert sorted(v.labels[0].cause for v in made[:11]) == sorted(CAUSES)
    for vessel in made[:11]:
        label = vessel.labels[0]
        assert label.vessel == vessel.spec.id
        assert label.onset >= times(plan)[0] + pd.Timedelta(days=180)
        assert label.full >= label.onset
        assert label.ended is None or label.full < label.ended <= times(plan)[-1]
        assert label.role is None or label.role in vessel.readings


def test_two_faults_a_vessel() -> None:
    made = simulate(replace(SMALL, faults_per_vessel=2, healthy=0))
    assert [len(v.labels) for v in made] == [2, 2, 2]
    assert all(len({label.cause for label in v.labels}) == 2 for v in made)


def test_instrument_sets_differ_but_always_hold_what_is_needed() -> None:
    made = simulate(replace(DRAWN, vessels=12, days=3, step_minutes=60, faults=()))
    sets = [frozenset(v.readings) for v in made]
    assert len(set(sets)) > 6
    for kept in sets:
        assert {"shell_pressure", "storage_temperature"} <= kept
        assert kept & {"inlet_flow", "outlet_flow"}
        assert kept <= set(INSTRUMENTS)


def test_readings_have_bad_values_and_hours_survive_them() -> None:
    made = simulate(replace(SMALL, days=9, step_minutes=10, roles="all"))[0]
    missing = made.readings.isna().mean()
    assert 0 < missing.mean() < 0.2
    median, spread, count = hourly_frames(made.readings)
    group = made.readings.groupby(made.readings.index.floor("h"))
    pd.testing.assert_frame_equal(median, group.median(), check_freq=False, check_names=False)
    pd.testing.assert_frame_equal(count, group.count(), check_freq=False, check_names=False)
    quartiles = group.quantile(0.75) - group.quantile(0.25)
    expected = (quartiles / 1.349).where(group.count() >= 4)
    pd.testing.assert_frame_equal(spread, expected, check_freq=False, check_names=False)
    hourly = simulate(replace(SMALL, days=9, step_minutes=10, roles="all"), hourly=True)[0]
    pd.testing.assert_frame_equal(hourly.readings, median)


def test_gauge_transmitters_without_a_barometer_carry_the_weather() -> None:
    # the plant's control holds gauge pressure: read with a fixed barometer it looks steady, truly it is not
    plan = replace(DRAWN, vessels=8, faults=(), bad_values=False, days=20, sites=1)
    without = simulate(replace(plan, roles=("shell_pressure", "storage_temperature")))
    beside = simulate(replace(plan, roles=("shell_pressure", "storage_temperature", "barometric_pressure")))
    follows: list[tuple[float, float]] = []
    for a, b in zip(without, beside, strict=True):
        weather = b.readings["barometric_pressure"]
        if a.spec.gauge_transmitters:
            added = b.readings["shell_pressure"] - a.readings["shell_pressure"]
            assert added.to_numpy() == pytest.approx(weather.to_numpy() - a.spec.barometer)
            follows.append(tuple(x.readings["shell_pressure"].corr(weather, "spearman") for x in (a, b)))
        else:
            pd.testing.assert_frame_equal(a.readings, b.readings[list(a.readings)])
    assert 0 < len(follows) < 8
    gauge, absolute = np.median(np.array(follows), axis=0)
    assert abs(gauge) < 0.4
    assert absolute > 0.6


def test_compression_keeps_every_move_and_never_falls_silent() -> None:
    values = np.array([1.0, 1.02, 1.04, 1.2, 1.2, np.nan, np.nan, 1.2, 1.2, 1.2, 1.2, 1.2, 1.2])
    assert np.flatnonzero(compressed(values, 0.05, 100)).tolist() == [0, 3, 5, 7]
    assert np.flatnonzero(compressed(values, 0.05, 3)).tolist() == [0, 3, 5, 7, 11]


def test_nothing_of_the_detector_or_the_reports_is_imported() -> None:
    for path in Path(synthetic.__file__).parent.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            names = [a.name for a in node.names] if isinstance(node, ast.Import) else []
            if isinstance(node, ast.ImportFrom):
                names = [node.module or ""]
            for name in names:
                assert not name.startswith(("sevenppb.detect", "sevenppb.reports", "detect", "reports")), path


def test_unusual_vessels_run_in_ways_of_their_own() -> None:
    plan = replace(DRAWN, healthy=3, days=120, unusual=True, roles="all", bad_values=False)
    usual, unusual = simulate(replace(plan, unusual=False)), simulate(plan)
    assert [v.spec.rhythm for v in unusual] == ["shifts", "batches", "levels"]
    assert [v.spec.tray_units for v in unusual] == [v.spec.tray_units for v in usual]
    load = [v.readings["outlet_flow"] / v.spec.rated for v in unusual]
    shifts = load[0].tz_convert(plan.timezone)
    night = shifts[(shifts.index.hour < 5) | (shifts.index.day_of_week >= 5)]
    assert night.median() < 0.6 * shifts[(shifts.index.hour == 12) & (shifts.index.day_of_week < 5)].median()
    for held, days in ((load[1], 0.4), (load[2], 5.0)):
        changes = (abs(held.rolling(3).median().diff(3)) > 0.15).sum() / 3
        assert changes > 120 / days / 3
