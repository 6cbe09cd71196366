"""An instrument's own reading stands among the evidence for or against its drift, and nowhere else."""

from dataclasses import replace

import numpy as np
import pytest

from sevenppb.detect.diagnosis import likelihood, own_reading
from sevenppb.detect.diagnosis.change import Change
from sevenppb.detect.diagnosis.search import Alarm
from sevenppb.detect.diagnosis.signatures import SENSOR_STEPS
from sevenppb.detect.incidents import build
from sevenppb.detect.incidents.episodes import Episode
from sevenppb.detect.settings import DEFAULTS

SETTING = build.Setting("DA-1", {"outlet_oxygen": 7.0}, None)


def incident(bench, pattern, **moved):
    """Of a step a hundred days ago that moved the residuals as this pattern says, and readings of conditions."""
    n, effect = len(bench.days.index), 2.0 * bench.pattern(pattern)
    course = (np.arange(n) >= n - 100).astype(float)
    change = Change("step", n - 100, n - 100, n - 100, n - 100, course, effect, 0.02 * bench.natural(), n)
    conditions = {role: getattr(bench.days.at, role) + by * course for role, by in moved.items()}
    days = replace(bench.days, at=replace(bench.days.at, **conditions))
    patterns = replace(bench.patterns, own=own_reading.own_readings(days, bench.instruments.roles))
    told = likelihood.diagnose(days, change, patterns, np.eye(len(effect)), DEFAULTS.discrepancy)
    return build.from_episode(days, Episode((Alarm(n - 90, 0, change),), change, told, None, False), SETTING)


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
