"""Which meter lies: readings that balance, with one error put in."""

import numpy as np
import pandas as pd
import pytest

from sevenppb.detect import streams
from sevenppb.detect.balance import meters
from sevenppb.detect.roles import ROLES

HOURS = pd.date_range("2025-03-01", periods=24 * 40, freq="h", tz="UTC")
BAROMETER = pd.Series(1.0e5, index=HOURS)


@pytest.fixture(name="readings")
def forty_days(heated):
    return heated(HOURS)


def reconciled(readings):
    return meters.reconciled_daily(readings, BAROMETER[readings.index], None)


def errs_daily(readings, seed):
    """Instruments that err as their accuracies say, anew each day: only then is the misfit a chi-square."""
    rng = np.random.default_rng(seed)
    day = (readings.index - readings.index[0]).days
    out = readings.copy()
    for role in readings:
        row = ROLES[role]
        sd = row.accuracy * readings[role] if row.relative else row.accuracy
        out[role] += rng.standard_normal(day.max() + 1)[day] * sd
    return out


def test_readings_that_balance_have_no_misfit(readings):
    found = reconciled(readings)
    assert len(found) == 40
    assert np.all(found["redundancy"] == 2)
    assert np.all(found["misfit"] < 1e-4)
    assert found["suspect"].isna().all()
    assert meters.notes(found) == ()


def test_honest_meters_are_blamed_as_seldom_as_stated(heated, monkeypatch):
    monkeypatch.setattr(streams, "HEAT_LOSS_DOUBT", 0.0)  # the heat loss doesn't err here
    index = pd.date_range("2020-01-01", periods=2000, freq="D", tz="UTC")
    honest = errs_daily(heated(index).assign(vent_flow=0.02), 3)
    found = meters.reconciled_daily(honest, pd.Series(1.0e5, index=index), None)
    assert abs((found["p"] < 0.05).mean() - 0.05) < 0.012
    assert abs((found["p"] < 0.5).mean() - 0.5) < 0.035


@pytest.mark.parametrize(
    ("role", "factor"), [("inlet_flow", 1.06), ("outlet_flow", 0.94), ("outlet_flow", 1.06)]
)
def test_the_lying_flow_meter_is_named(readings, role, factor):
    readings[role] *= factor
    found = reconciled(readings)
    assert np.all(found["p"] < 1e-3)
    assert set(found["suspect"]) == {role}
    (note,) = meters.notes(found)
    assert "on 30 of the last 30 days" in note
    assert ROLES[role].label in note


def test_what_a_sick_process_may_also_do_has_no_culprit(readings):
    """Steam that heat alone doesn't account for: its meter, its wetness, a thermometer, or heat lost."""
    readings["steam_flow"] *= 1.10
    found = reconciled(readings)
    assert np.all(found["p"] < 5e-3)
    assert found["suspect"].isna().all()
    (note,) = meters.notes(found)
    assert "can't tell which" in note


def test_an_error_within_the_accuracies_passes(readings):
    readings["inlet_flow"] *= 1.01
    assert np.all(reconciled(readings)["p"] > 0.3)


def test_one_balance_tells_that_but_not_which(readings):
    readings = readings.drop(columns="outlet_flow")
    readings["inlet_flow"] *= 1.15
    found = reconciled(readings)
    assert np.all(found["redundancy"] == 1)
    assert np.all(found["p"] < 0.01)
    assert found["suspect"].isna().all()


def test_the_inlet_may_be_the_one_without_a_meter(readings):
    """The same heat balance, counted from the outlet's side: the same misfit for the same excess of steam."""
    readings["steam_flow"] *= 1.10
    by_inlet, by_outlet = (reconciled(readings.drop(columns=c)) for c in ("outlet_flow", "inlet_flow"))
    np.testing.assert_allclose(by_outlet["misfit"], by_inlet["misfit"], rtol=0.2)


def test_only_most_of_the_last_month_is_worth_a_sentence(readings):
    late = readings.index >= HOURS[0] + pd.Timedelta(days=26)
    readings.loc[late, "outlet_flow"] *= 1.06
    assert meters.notes(reconciled(readings)) == ()  # 14 of 30 days
    readings.loc[readings.index >= HOURS[0] + pd.Timedelta(days=22), "outlet_flow"] = readings[
        "outlet_flow"
    ].max()
    (note,) = meters.notes(reconciled(readings))
    assert "18 of the last 30 days" in note


def test_days_without_a_needed_reading_are_left_out(readings):
    readings.loc[readings.index.floor("D") == HOURS[48], "steam_flow"] = np.nan
    found = reconciled(readings)
    assert len(found) == 39
    assert HOURS[48] not in found.index
    few = meters.reconciled_daily(readings[["shell_pressure", "storage_temperature"]], BAROMETER, None)
    assert few.empty
    assert meters.notes(few) == ()
