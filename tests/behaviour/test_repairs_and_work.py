"""What was put right has eased; what work changed on purpose is a fresh level, and the watch goes on."""

from dataclasses import replace

import made_vessels
import pandas as pd
import pytest

from sevenppb.detect.fleet import Work

DAY = pd.Timedelta(days=1)


def work(day: float, *resets: str) -> tuple[Work, ...]:
    return (Work(made_vessels.day(day), "set anew", resets),)


@pytest.mark.parametrize(
    ("case", "cause", "repaired"),
    [("open vent put right", "open-vent", 280.0), ("storage thermometer put right", "sensor-drift", 300.0)],
)
def test_a_repaired_fault_has_eased_on_its_day(scan_of, case, cause, repaired):
    found = scan_of(case).incidents
    assert [row.cause for row in found] == [cause]
    assert found[0].state == "eased"
    assert abs(found[0].ended - made_vessels.day(repaired)) <= 12 * DAY
    assert found[0].ended > found[0].first_flagged


@pytest.mark.parametrize(("left", "state"), [(0.55, "new"), (0.0, "eased")])
def test_what_has_only_become_less_has_not_eased(made, left, state):
    """Water that stays 2 K too cool for forty days, and then by so much of that."""
    hourly = made["healthy"].readings.copy()
    since, later = (hourly.index >= made_vessels.day(made_vessels.ONSET + k) for k in (0, 40))
    hourly["storage_temperature"] -= 2.0 * (since - (1.0 - left) * later)
    (found,) = made_vessels.scanned(replace(made["healthy"], readings=hourly)).incidents
    assert found.state == state


def test_what_has_eased_is_less_urgent(scan_of):
    assert scan_of("open vent put right").incidents[0].urgency < scan_of("open-vent").incidents[0].urgency


def test_a_step_that_work_made_is_no_incident(scan_of):
    case = "vent opened wider on purpose"
    assert [row.cause for row in scan_of(case).incidents] == ["open-vent"]
    assert scan_of(case, work=work(made_vessels.ONSET, "vent")).incidents == ()


def test_work_on_something_else_excuses_nothing(scan_of):
    """Insulation moves subcooling, not the vent's flow."""
    found = scan_of("vent opened wider on purpose", work=work(made_vessels.ONSET, "insulation")).incidents
    assert [row.cause for row in found] == ["open-vent"]


def test_a_calibrated_sensor_starts_afresh(made):
    """A thermometer that is set 1.5 K higher by its calibration."""
    hourly = made["healthy"].readings.copy()
    later = hourly.index >= made_vessels.day(made_vessels.ONSET)
    hourly.loc[later, "storage_temperature"] += 1.5
    moved = replace(made["healthy"], readings=hourly)
    told = made_vessels.scanned(moved).incidents
    assert [(row.cause, row.role) for row in told] == [("sensor-drift", "storage_temperature")]
    reset = work(made_vessels.ONSET, "sensor:storage_temperature")
    assert made_vessels.scanned(moved, work=reset).incidents == ()


def test_a_fault_long_after_the_work_is_still_found(scan_of):
    found = scan_of("choked-vent", work=work(made_vessels.ONSET - 20, "all")).incidents
    assert [row.cause for row in found] == ["choked-vent"]
    assert found[0].first_flagged >= made_vessels.day(made_vessels.ONSET)


@pytest.mark.parametrize(
    ("case", "reset", "repaired"),
    [
        ("open vent put right", "vent", 280.0),
        ("open vent put right", "sprays", 280.0),
        ("storage thermometer put right", "sensor:storage_temperature", 300.0),
    ],
)
def test_a_repair_that_was_written_down_has_ended_what_it_repaired(scan_of, case, reset, repaired):
    """The levels are new from that day on, so that no alarm says that it went back."""
    (found,) = scan_of(case, work=work(repaired, reset)).incidents
    assert found.state == "eased"
    assert abs(found.ended - made_vessels.day(repaired)) <= 2 * DAY


def test_work_that_helped_nothing_has_ended_nothing(scan_of):
    later = made_vessels.ONSET + 60
    (found,) = scan_of("open-vent", work=work(later, "vent")).incidents
    assert found.state == "new"
