"""An instrument's own reading stands among the evidence for or against its drift, and nowhere else."""

from dataclasses import replace

import numpy as np
import pytest

from sevenppb.detect.diagnosis import own_reading
from sevenppb.detect.diagnosis.search import Alarm
from sevenppb.detect.diagnosis.signatures import SENSOR_STEPS
from sevenppb.detect.incidents import build, ends
from sevenppb.detect.incidents.episode import Episode

SETTING = build.Setting("DA-1", {"outlet_oxygen": 7.0}, None)


def incident(bench, pattern, **moved):
    """Of a step that moved the residuals as this pattern says, and readings of conditions."""
    read, effect = bench.read_with(**moved), 2.0 * bench.pattern(pattern)
    change = read.change(effect)
    alarm = Alarm(change.onset + 10, 0, change)
    return build.from_episode(
        read.days, Episode((alarm,), change, read.diagnosis(effect), None, False), SETTING
    )


def rows(found, role):
    return [row for row in found.evidence if row.feature == role]


@pytest.mark.parametrize("role", sorted(own_reading.HELD))
def test_a_drift_shows_what_its_own_reading_did(full, role):
    found = incident(full, f"sensor-drift:{role}:+", **{role: 2.0 * SENSOR_STEPS[role][0]})
    assert found.role == role
    (row,) = rows(found, role)
    assert row.observed - row.expected == pytest.approx(2.0 * SENSOR_STEPS[role][0], rel=0.4)
    assert row.predicted == pytest.approx(found.magnitude.value, rel=0.05)


def test_a_new_set_point_is_no_evidence_of_another_cause(full):
    found = incident(full, "choked-vent", shell_pressure=6000.0, inlet_temperature=9.0)
    assert found.cause == "choked-vent"
    assert not rows(found, "shell_pressure") + rows(found, "inlet_temperature")


def test_a_reading_that_was_lost_lately_is_no_evidence(full):
    """As of every other reading: nothing is said of weeks that nobody read."""
    role = "inlet_temperature"
    read = full.read_with(**{role: 2.0 * SENSOR_STEPS[role][0]})
    effect = 2.0 * full.pattern(f"sensor-drift:{role}:+")
    change = read.change(effect)
    told = read.diagnosis(effect)
    lost = read.days.at.inlet_temperature.copy()
    lost[-ends.RECENT - 10 :] = np.nan
    days = replace(read.days, at=replace(read.days.at, inlet_temperature=lost))
    episode = Episode((Alarm(change.onset + 10, 0, change),), change, told, None, False)
    assert rows(build.from_episode(days, episode, SETTING), role) == []
