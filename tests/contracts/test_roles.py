"""Every role has its unit, range, label and accuracy, and what reads roles names none that isn't one."""

import numpy as np
import pytest

from sevenppb.detect import units
from sevenppb.detect.diagnosis import signatures
from sevenppb.detect.features import SWING, WATCHED
from sevenppb.detect.fleet import reading_quantity
from sevenppb.detect.incidents.urgency import BLINDING
from sevenppb.detect.quality.steady import LOADS
from sevenppb.detect.roles import REQUIRED, ROLES

CONTRACT = {
    "shell_pressure", "storage_temperature", "steam_pressure", "steam_flow", "steam_temperature", "steam_valve",
    "inlet_temperature", "inlet_flow", "outlet_flow", "outlet_oxygen", "inlet_oxygen", "vent_temperature",
    "vent_flow", "vent_valve", "spray_differential", "level", "drain_flow", "drain_temperature", "makeup_flow",
    "makeup_temperature", "barometric_pressure", "scavenger_flow",
}  # fmt: skip
UNITS = {
    "pressure": "Pa",
    "difference": "Pa",
    "temperature": "degC",
    "flow": "kg/s",
    "fraction": "1",
    "oxygen": "ppb",
    "level": "1",
}
# a plausible reading in a unit that the trade uses, per quantity
USED = {
    "pressure": ("kPa abs", 140.0),
    "difference": ("mbar", 300.0),
    "temperature": ("degF", 212.0),
    "flow": ("t/h", 20.0),
    "fraction": ("percent", 60.0),
    "oxygen": ("ppb", 7.0),
    "level": ("percent", 55.0),
}


def test_the_contract_lists_the_same_roles():
    assert set(ROLES) == CONTRACT
    assert set(REQUIRED) == {"shell_pressure", "storage_temperature"}


@pytest.mark.parametrize("role", ROLES.values(), ids=lambda role: role.name)
def test_a_row_is_whole(role):
    assert ROLES[role.name] is role
    assert role.unit == UNITS[role.quantity]
    assert role.low < role.high
    assert role.accuracy > 0
    assert role.label == role.label.strip()
    assert role.label[0].islower()
    if role.relative:
        assert 0.001 < role.accuracy < 0.2
        assert role.low >= 0 or role.name == "spray_differential"
    else:
        assert role.accuracy < 0.1 * (role.high - role.low)


def test_no_two_roles_are_called_alike():
    assert len({role.label for role in ROLES.values()}) == len(ROLES)


@pytest.mark.parametrize("role", ROLES.values(), ids=lambda role: role.name)
def test_a_usual_unit_of_the_trade_fits_and_lands_in_the_range(role):
    text, value = USED[role.quantity]
    if role.name in ("steam_temperature",):
        value = 390.0
    if role.name == "scavenger_flow":
        text, value = "kg/h", 2.0
    if role.name == "barometric_pressure":
        text, value = "hPa", 1013.0
    unit = units.resolve(text, reading_quantity(role.name))
    inside = float(units.apply(np.array([value]), unit, 101325.0)[0])
    assert role.low < inside < role.high
    assert float(units.undo(np.array([inside]), unit, 101325.0)[0]) == pytest.approx(value)


def test_tables_that_name_roles_name_real_ones():
    named = {row.role for row in WATCHED.values()} | set(signatures.SENSOR_STEPS) | set(LOADS) | BLINDING
    assert named <= set(ROLES)


def test_every_watched_feature_is_tested_on_a_scale_that_its_table_explains():
    for name, row in WATCHED.items():
        assert name == row.name
        assert 0 < row.tolerance < row.natural
        assert row.scale in ("linear", "log")
        assert (row.floor > 0) == (row.scale == "log")
        if name.endswith(SWING):
            assert WATCHED[name.removesuffix(SWING)].role == row.role


def test_a_sensor_whose_error_is_relative_drifts_by_a_factor():
    for role, (step, logarithmic) in signatures.SENSOR_STEPS.items():
        assert logarithmic == ROLES[role].relative
        assert step > ROLES[role].accuracy
