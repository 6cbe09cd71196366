"""Readings → conditions: what is missing is stood in for and said, and nothing missing becomes a number."""

import numpy as np
import pandas as pd
import pytest

from sevenppb.detect.balance import conditions, model
from sevenppb.detect.balance.health import Health
from sevenppb.detect.physics import steam

FULL = {
    "shell_pressure": 1.36e5,
    "storage_temperature": 107.0,
    "steam_pressure": 6.0e5,
    "steam_temperature": 190.0,
    "inlet_temperature": 72.0,
    "inlet_flow": 20.0,
    "outlet_flow": 21.5,
    "inlet_oxygen": 3500.0,
    "vent_valve": 0.5,
    "drain_flow": 1.0,
    "drain_temperature": 101.0,
}


def of(roles):
    index = pd.date_range("2025-01-01", periods=48, freq="h", tz="UTC")
    hourly = pd.DataFrame({role: FULL[role] for role in roles}, index=index)
    return conditions.conditions_of(hourly, pd.Series(101325.0, index=index))


def test_whole_readings_need_no_assumption():
    at, assumed = of(FULL)
    assert assumed == ()
    assert (at.flow[0], at.inlet_temperature[0], at.steam_temperature[0]) == (20.0, 72.0, 190.0)
    assert (at.vent_valve[0], at.inlet_oxygen[0], at.drain_temperature[0]) == (0.5, 3500.0, 101.0)


@pytest.mark.parametrize(
    ("missing", "said"),
    [
        ("steam_pressure", "steam supply pressure is not recorded"),
        ("inlet_temperature", "inlet temperature is not recorded: 70 °C assumed"),
        ("inlet_flow", "inlet flow is not recorded: outlet flow stands for the load"),
    ],
)
def test_each_assumption_is_said(missing, said):
    at, assumed = of([role for role in FULL if role != missing])
    assert assumed == (said,)
    assert np.isfinite([at.flow, at.steam_pressure, at.inlet_temperature]).all()


def test_two_tags_are_enough_and_all_that_is_assumed_is_said():
    at, assumed = of(["shell_pressure", "storage_temperature"])
    assert any("no flow is recorded" in sentence for sentence in assumed)
    assert len(assumed) == 3
    found = model.expected(at, Health(flow=10.0, pressure=1.36e5, supply=4e5, barometer=101325.0))
    assert np.isfinite(found.subcooling).all()


def test_steam_without_a_thermometer_is_saturated_and_never_colder():
    at, _ = of([role for role in FULL if role != "steam_temperature"])
    assert at.steam_temperature[0] == pytest.approx(float(steam.saturation_temperature(6.0e5)))
    cold = pd.DataFrame({**FULL, "steam_temperature": 120.0}, index=range(24))
    wet, _ = conditions.conditions_of(cold, pd.Series(101325.0, index=range(24)))
    assert wet.steam_temperature[0] == pytest.approx(float(steam.saturation_temperature(6.0e5)))


@pytest.mark.parametrize(
    "role",
    [
        "inlet_flow",
        "inlet_temperature",
        "shell_pressure",
        "steam_pressure",
        "steam_temperature",
        "drain_flow",
        "drain_temperature",
    ],
)
def test_an_hour_without_a_recorded_role_has_no_expected_value(role):
    """And the hours beside it keep theirs."""
    hourly = pd.DataFrame(FULL, index=pd.date_range("2025-01-01", periods=6, freq="h", tz="UTC"))
    whole, _ = conditions.conditions_of(hourly, pd.Series(101325.0, index=hourly.index))
    hourly.iloc[2, hourly.columns.get_loc(role)] = np.nan
    at, _ = conditions.conditions_of(hourly, pd.Series(101325.0, index=hourly.index))
    health = Health(flow=20.0, pressure=1.36e5, supply=6e5, barometer=101325.0)
    found, before = model.expected(at, health), model.expected(whole, health)
    counted = "steam_flow" if role != "steam_pressure" else "steam_valve"
    assert np.isnan(getattr(found, counted)[2])
    others = [0, 1, 3, 4, 5]
    np.testing.assert_array_equal(getattr(found, counted)[others], getattr(before, counted)[others])


def test_arrays_equal_hours_taken_alone():
    index = pd.date_range("2025-01-01", periods=5, freq="h", tz="UTC")
    hourly = pd.DataFrame(FULL, index=index)
    hourly["inlet_flow"] = [6.0, 12.0, 20.0, 26.0, 31.0]
    hourly["shell_pressure"] = [1.1e5, 1.3e5, 1.36e5, 1.8e5, 2.4e5]
    hourly["inlet_oxygen"] = [100.0, np.nan, 3000.0, 9000.0, np.nan]
    air = pd.Series([99e3, 100e3, 101e3, 102e3, 103e3], index=index)
    health = Health(flow=20.0, pressure=1.36e5, supply=6e5, barometer=101325.0)
    together = model.expected(conditions.conditions_of(hourly, air)[0], health)
    for k in range(5):
        alone = model.expected(conditions.conditions_of(hourly.iloc[[k]], air.iloc[[k]])[0], health)
        for name, value in vars(alone).items():
            assert getattr(together, name)[k] == pytest.approx(float(value[0]), rel=1e-12)
