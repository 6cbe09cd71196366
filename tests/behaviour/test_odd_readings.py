"""Readings that no plant should give, but some do: the scan goes on, and warns nobody of its arithmetic."""

from dataclasses import replace

import made_vessels
import numpy as np
import pytest


def scan_with(made, role, value, start=0.0, end=float(made_vessels.DAYS)):
    hourly = made["healthy"].readings.copy()
    hourly.loc[made_vessels.day(start) : made_vessels.day(end), role] = value
    return made_vessels.scanned(replace(made["healthy"], readings=hourly))


@pytest.mark.parametrize(
    ("role", "value"),
    [
        ("inlet_oxygen", 3000.0),  # typed in once
        ("outlet_oxygen", 0.0),
        ("spray_differential", -500.0),
        ("vent_valve", 0.0),
        ("steam_pressure", 3.0e5),  # read behind the control valve: below the shell's
    ],
)
def test_one_senseless_reading_stops_nothing_and_blames_nothing_else(made, role, value):
    found = scan_with(made, role, value)
    assert found.state == "scanned"
    assert [i.cause for i in found.incidents if i.role != role] == []


@pytest.mark.parametrize("until", [made_vessels.DAYS, made_vessels.BASELINE + 5])
def test_an_analyser_without_readings_in_the_baseline_is_not_watched(made, until):
    """Never, or installed only afterwards."""
    found = scan_with(made, "outlet_oxygen", np.nan, end=until)
    assert found.state == "scanned"
    assert "observed_outlet_oxygen" not in found.daily
    assert "observed_subcooling" in found.daily


def test_half_of_the_hours_are_enough(made):
    hourly = made["healthy"].readings.copy()
    hourly.iloc[::2] = np.nan
    found = made_vessels.scanned(replace(made["healthy"], readings=hourly))
    assert found.state == "scanned"
    assert found.incidents == ()


@pytest.mark.parametrize("hours", [8, 24])
def test_oxygen_that_is_sampled_by_hand_is_watched(made, hours):
    def sampled(case):
        hourly = made[case].readings.copy()
        hourly.loc[np.arange(len(hourly)) % hours != 6, "outlet_oxygen"] = np.nan
        return made_vessels.scanned(replace(made[case], readings=hourly))

    found = sampled("air-in-leakage").incidents[0]
    assert found.cause == "air-in-leakage"
    assert "outlet_oxygen" in {row.feature for row in found.evidence if np.isfinite(row.z)}
    assert sampled("healthy").incidents == ()


def test_a_long_outage_before_the_watch_is_passed_over(made):
    hourly = made["healthy"].readings.copy()
    hourly.loc[made_vessels.day(150) : made_vessels.day(225)] = np.nan
    found = made_vessels.scanned(replace(made["healthy"], readings=hourly))
    assert found.state == "scanned"
    assert found.incidents == ()
    assert found.marks["no reading"] >= 75 * 24


def test_without_a_load_there_is_nothing_to_judge(made):
    """The load's meter fails for good: hours are cut and counted, not guessed."""
    found = scan_with(made, "inlet_flow", np.nan, start=made_vessels.BASELINE + 2)
    assert found.incidents == ()
    assert found.marks["no reading"] >= (made_vessels.DAYS - made_vessels.BASELINE - 3) * 24
    assert found.daily["hours"].iloc[-90:].sum() == 0


@pytest.mark.parametrize(
    ("role", "off"),
    [
        ("storage_temperature", -5.0),
        ("storage_temperature", 20.0),
        ("steam_flow", -0.5),
        ("vent_temperature", -30.0),
    ],
)
def test_a_single_odd_day_is_no_incident_then_or_later(made, role, off):
    """An instrument that is out for calibration for a day teaches the watch nothing."""
    hourly = made["healthy"].readings.copy()
    hourly.loc[f"{made_vessels.day(250):%Y-%m-%d}", role] += off
    found = made_vessels.scanned(replace(made["healthy"], readings=hourly))
    assert found.incidents == ()
