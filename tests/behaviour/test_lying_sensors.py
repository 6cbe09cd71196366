"""A drifting instrument is named as such, not as a sick vessel."""

from dataclasses import replace

import made_vessels
import pandas as pd
import pytest

from sevenppb.detect.causes import CAUSES
from sevenppb.detect.roles import ROLES

DRIFTS = {
    "storage thermometer reads high": ("storage_temperature", +1),
    "steam meter reads high": ("steam_flow", +1),
    "vent thermometer reads low": ("vent_temperature", -1),
}


@pytest.mark.parametrize("case", DRIFTS)
def test_the_sensor_is_told_from_the_process(scan_of, case):
    role, sign = DRIFTS[case]
    found = scan_of(case).incidents[0]
    assert (found.cause, found.role) == ("sensor-drift", role)
    assert sign * found.magnitude.value > 0
    assert found.magnitude.low < found.magnitude.value < found.magnitude.high
    assert found.magnitude.unit == ("fraction" if ROLES[role].relative else ROLES[role].unit)
    assert found.checks == CAUSES["sensor-drift"].checks_of(role)
    onset = made_vessels.day(made_vessels.ONSET)
    assert onset <= found.first_flagged <= onset + pd.Timedelta(days=45)


@pytest.mark.parametrize("case", DRIFTS)
def test_its_own_reading_is_the_strongest_evidence(scan_of, case):
    role, _ = DRIFTS[case]
    feature = {"storage_temperature": "subcooling"}.get(role, role)
    assert scan_of(case).incidents[0].evidence[0].feature == feature


def test_a_lying_storage_thermometer_cools_nothing(scan_of):
    """It reads high, so water seems less subcooled than it is; nothing is lost."""
    found = scan_of("storage thermometer reads high").incidents[0]
    row = found.evidence[0]
    assert row.observed < row.expected
    assert found.consequence.steam_lost_kg_h == 0
    assert found.limit_reached is None


@pytest.mark.parametrize("days", [3, 5])
def test_a_meter_that_was_wrong_for_days_does_not_date_a_fault_that_came_later(made, days):
    """The outlet's flow, weeks before the sprays begin to wear."""
    sick = made["worn-sprays"]
    hourly = sick.readings.copy()
    wrong = made_vessels.day(made_vessels.ONSET - 28)
    hourly.loc[(hourly.index >= wrong) & (hourly.index < wrong + pd.Timedelta(days=days)), "outlet_flow"] *= (
        1.15
    )
    found = made_vessels.scanned(replace(sick, readings=hourly)).incidents
    told = [row for row in found if row.cause == "worn-sprays"]
    assert len(told) == 1
    assert told[0].first_flagged >= made_vessels.day(made_vessels.ONSET)
    assert told[0].onset >= made_vessels.day(made_vessels.ONSET - 12)
