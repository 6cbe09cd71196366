"""Nothing in, nothing out: healthy vessels of every kind stay silent over season, weather and load."""

from dataclasses import replace

import made_vessels
import numpy as np
import pandas as pd
import pytest

from sevenppb.synthetic.simulation import simulate


@pytest.fixture(scope="module")
def drawn():
    """Six vessels as different as the trade builds them, each with instruments as they happen to be."""
    plan = replace(made_vessels.PLAN, seed=43, vessels=6, healthy=6, roles=None)
    return [made_vessels.scanned(vessel) for vessel in simulate(plan)]


def test_healthy_vessels_of_every_kind_are_silent(drawn):
    """Two vessel-years of watch at 0.1 false alarms each: a second one would come in 1 of 60 such fleets."""
    told = [(vessel.id, incident.cause) for vessel in drawn for incident in vessel.incidents]
    assert len(told) <= 1, told
    assert all(vessel.state == "scanned" for vessel in drawn)


@pytest.mark.parametrize("case", ["healthy", "healthy again"])
def test_a_fully_instrumented_healthy_vessel_is_silent(scan_of, case):
    scan = scan_of(case)
    assert scan.state == "scanned"
    assert scan.incidents == ()


def test_silence_is_no_blindness(scan_of):
    """What the silent vessel could have shown is told, and is worth showing."""
    seen = {row.cause: row for row in scan_of("healthy").coverage}
    assert seen["choked-vent"].visible
    assert seen["choked-vent"].smallest < 0.3
    assert all((row.smallest is not None) == row.visible for row in seen.values())
    assert all(row.smallest is None or row.smallest > 0 for row in seen.values())


def test_a_healthy_vessels_days_stay_within_their_bands(scan_of):
    """The expected value's stated uncertainty is the residuals' own: 0.3 % of a normal lies beyond 3."""
    daily = scan_of("healthy").daily
    z = pd.DataFrame(
        {
            name: daily[f"residual_{name}"] / daily[f"band_{name}"]
            for name in ("subcooling", "outlet_oxygen", "vent_temperature", "spray_differential")
        }
    ).dropna()
    assert len(z) > 250
    assert (z.abs() > 3).to_numpy().mean() < 0.02
    assert (z.std() < 1.6).all(), z.std()
    assert (z.std() > 0.4).all(), z.std()


def test_too_little_data_is_told_and_nothing_else(made):
    short = made_vessels.scanned(made["healthy"], until=made_vessels.day(20))
    assert short.state == "too-little-data"
    assert short.incidents == ()
    assert short.error.startswith("healthy: too little data: ")
    assert "export a longer span" in short.error


def test_a_vessel_under_vacuum_is_told_that_no_longer_span_helps(made):
    hourly = made["healthy"].readings.assign(shell_pressure=7.0e4)
    scan = made_vessels.scanned(replace(made["healthy"], readings=hourly))
    assert scan.state == "too-little-data"
    assert "vacuum deaerators are not covered" in scan.error
    assert "longer span" not in scan.error


def test_readings_that_are_missing_count_as_nothing(made):
    """An analyser out of service for the whole of the watch is no incident and blinds nothing else."""
    hourly = made["healthy"].readings.copy()
    hourly.loc[hourly.index >= made_vessels.day(made_vessels.BASELINE + 5), "outlet_oxygen"] = np.nan
    scan = made_vessels.scanned(replace(made["healthy"], readings=hourly))
    assert scan.state == "scanned"
    assert scan.incidents == ()
    watch = scan.daily.loc[made_vessels.day(made_vessels.BASELINE + 6) :]
    assert watch["residual_outlet_oxygen"].isna().all()
    assert watch["residual_subcooling"].notna().mean() > 0.9
