"""Every row of the table of causes keeps what the contract promises of a cause.

The expected signs are common practice, no source: what each fault does to a sprayed and trayed vessel's
readings, as the trade's trouble-shooting tables have it.
"""

import re
from dataclasses import fields

import numpy as np
import pytest

from sevenppb.detect.balance import model
from sevenppb.detect.balance.health import ADDITIVE, Health
from sevenppb.detect.balance.model import Conditions
from sevenppb.detect.causes import CAUSES, GENERAL_CAUTION
from sevenppb.detect.features import SWING, WATCHED, to_test
from sevenppb.detect.roles import ROLES
from sevenppb.reports import document

SLUGS = {
    "fouled-sprays",
    "worn-sprays",
    "choked-vent",
    "open-vent",
    "steam-starvation",
    "tray-damage",
    "air-in-leakage",
    "flooded-trays",
    "heat-loss",
    "sensor-drift",
    "sensor-stuck",
    "unexplained",
}
PROCESS = sorted(slug for slug, cause in CAUSES.items() if cause.parameter is not None)
HEALTH = Health(flow=20.0, pressure=1.36e5, supply=6.0e5, barometer=101325.0, flood_margin=1.2)
# low, usual and high load; hot and cold water; little and much gas
POINTS = [(12.0, 60.0, 1000.0), (20.0, 75.0, 4000.0), (24.0, 90.0, 8000.0), (20.0, 20.0, 9000.0)]

# cause → reading → sign of its move; what isn't named must not move at all
SIGNS = {
    "fouled-sprays": {
        "subcooling": +1, "steam_flow": -1, "steam_valve": -1, "outlet_flow": -1, "outlet_oxygen": +1,
        "spray_differential": +1,
    },
    "worn-sprays": {
        "subcooling": +1, "steam_flow": -1, "steam_valve": -1, "outlet_flow": -1, "outlet_oxygen": +1,
        "spray_differential": -1,
    },
    "choked-vent": {
        "subcooling": +1, "steam_flow": -1, "steam_valve": -1, "outlet_flow": 0, "outlet_oxygen": +1,
        "vent_temperature": -1, "vent_flow": -1,
    },
    "open-vent": {
        "subcooling": -1, "steam_flow": +1, "steam_valve": +1, "outlet_flow": 0, "outlet_oxygen": -1,
        "vent_temperature": +1, "vent_flow": +1,
    },
    "steam-starvation": {"steam_valve": +1},
    "tray-damage": {
        "subcooling": +1, "steam_flow": -1, "steam_valve": -1, "outlet_flow": -1, "outlet_oxygen": +1,
    },
    "flooded-trays": {
        "subcooling": +1, "steam_flow": -1, "steam_valve": -1, "outlet_flow": -1, "outlet_oxygen": +1,
    },
    "air-in-leakage": {
        "inlet_oxygen": +1, "subcooling": +1, "steam_flow": -1, "steam_valve": -1, "outlet_flow": -1,
        "outlet_oxygen": +1, "vent_temperature": -1,
    },
    "heat-loss": {"subcooling": +1, "steam_flow": +1, "steam_valve": +1, "outlet_flow": +1},
}  # fmt: skip
EITHER = {("choked-vent", "outlet_flow"), ("open-vent", "outlet_flow")}  # steam less vent: a small difference


def conditions(points, oxygen_measured=False):
    flow, inlet, oxygen = np.array(points).T
    one = np.ones(len(points))
    return Conditions(
        flow=flow,
        inlet_temperature=inlet,
        shell_pressure=1.36e5 * one,
        steam_pressure=6.0e5 * one,
        steam_temperature=175.0 * one,
        barometer=101325.0 * one,
        vent_valve=one,
        inlet_oxygen=oxygen if oxygen_measured else np.nan * one,
        drain_flow=0.0 * one,
        drain_temperature=100.0 * one,
        makeup_share=np.nan * one,
        scavenger_dose=np.nan * one,
    )


def moves(cause, step, at):
    """Move of each reading on its test scale, at every point."""
    row = CAUSES[cause]
    by = row.sign * (step if row.parameter not in ADDITIVE else 2.0 * step)
    before, after = model.expected(at, HEALTH), model.expected(at, HEALTH.moved(row.parameter, by))
    names = [f for f in WATCHED if not f.endswith(SWING)]
    return {
        f: to_test(WATCHED[f], getattr(after, f)) - to_test(WATCHED[f], getattr(before, f)) for f in names
    }


def every_check(cause):
    return (*cause.checks, *(check for _, check in cause.role_checks))


def test_a_role_has_its_own_checks_beside_all():
    drift = CAUSES["sensor-drift"]
    (past,) = set(drift.checks_of("steam_valve")) - set(drift.checks)
    assert "by-pass" in past
    assert drift.checks_of("steam_flow") == drift.checks_of(None) == drift.checks
    assert {role for cause in CAUSES.values() for role, _ in cause.role_checks} <= set(ROLES)


@pytest.mark.parametrize("cause", CAUSES.values(), ids=lambda cause: cause.slug)
def test_no_check_has_anyone_feel_for_heat(cause):
    """Steam lines and bare shells are above 100 °C."""
    for check in every_check(cause):
        assert not re.search(r"\b(feel|hand|touch)\b", check, re.IGNORECASE), check


def test_the_contract_lists_the_same_causes():
    assert set(CAUSES) == SLUGS
    assert set(document.schema()["$defs"]["cause"]["enum"]) == SLUGS
    assert all(slug == cause.slug for slug, cause in CAUSES.items())
    assert set(SIGNS) == set(PROCESS)


@pytest.mark.parametrize("step", [0.1, 0.5])
@pytest.mark.parametrize("cause", PROCESS)
def test_the_parameter_moves_each_reading_the_way_the_trade_says(cause, step):
    for reading, move in moves(cause, step, conditions(POINTS)).items():
        if (cause, reading) in EITHER:
            continue
        expected = SIGNS[cause].get(reading, 0)
        if expected:
            assert np.all(np.sign(np.round(move, 12)) == expected), (reading, move)
        else:
            np.testing.assert_allclose(move, 0.0, atol=1e-12, err_msg=reading)


@pytest.mark.parametrize("cause", PROCESS)
def test_a_worse_fault_moves_its_readings_further(cause):
    for reading, sign in SIGNS[cause].items():
        if sign:
            ladder = [sign * moves(cause, step, conditions(POINTS))[reading] for step in (0.1, 0.2, 0.4, 0.8)]
            assert np.all(np.diff(ladder, axis=0) > -1e-12), reading


def test_where_inlet_oxygen_is_measured_only_its_own_reading_tells_of_air():
    """Its reading takes the parameter's place in the balance, so what follows from it is expected."""
    found = moves("air-in-leakage", 0.4, conditions(POINTS, oxygen_measured=True))
    assert np.all(found.pop("inlet_oxygen") > 0)
    assert all(np.all(move == 0) for move in found.values())


def test_flooding_shows_at_high_load_only():
    low, high = conditions([(10.0, 75.0, 4000.0)]), conditions([(24.0, 75.0, 4000.0)])
    assert (
        moves("flooded-trays", 0.3, low)["subcooling"] < 0.1 * moves("flooded-trays", 0.3, high)["subcooling"]
    )


@pytest.mark.parametrize("cause", CAUSES.values(), ids=lambda cause: cause.slug)
def test_a_row_is_whole(cause):
    assert re.fullmatch(r"[a-z]+(-[a-z]+)*", cause.slug)
    if cause.parameter is not None:
        assert cause.parameter in {f.name for f in fields(Health)}
        assert cause.sign in (-1, 1)
        assert cause.unit in ("fraction", "kW")
        assert cause.resets
    assert cause.label == cause.label.strip().lower()
    assert cause.what
    assert not cause.what.endswith(".")
    assert cause.meaning.endswith(".")
    assert len(cause.checks) >= 2
    assert len(cause.cautions) >= 1
    for sentence in (*every_check(cause), *cause.cautions, cause.meaning):
        assert sentence[0].isupper()
        assert sentence[-1] in ".?"
        assert len(sentence) < 160


def test_no_two_causes_are_one():
    process = [CAUSES[slug] for slug in PROCESS]
    assert len({(c.parameter, c.sign) for c in process}) == len(process)
    assert len({c.label for c in CAUSES.values()}) == len(CAUSES)
    assert len({c.what for c in process}) == len(process)


# a person told to move a valve: "open the vent valve", "throttle it back"
OPERATE = re.compile(
    r"\b(open|close|shut|throttle|crack|adjust|reset|turn|isolate|bypass|operate|stroke|raise|lower|increase|"
    r"reduce)\b(?![- ](at|position))[^.;:?]{0,40}\b(valves?|vents?|steam|pressure|damper|bypass)\b",
    re.IGNORECASE,
)


@pytest.mark.parametrize("sentence", ["Open the vent valve a quarter turn.", "Throttle the steam supply.",
                                      "Then close it: shut the isolating valve."])  # fmt: skip
def test_an_order_to_operate_a_valve_would_be_seen(sentence):
    assert OPERATE.search(sentence)


@pytest.mark.parametrize("cause", CAUSES.values(), ids=lambda cause: cause.slug)
def test_nobody_is_told_to_operate_a_valve(cause):
    for sentence in (*every_check(cause), *cause.cautions):
        assert not OPERATE.search(sentence), sentence


def test_checks_are_for_looking_measuring_asking_or_having_inspected():
    """Every check begins with what a person does from outside, or has qualified people do."""
    begin = re.compile(
        r"(Compare|Have|Look|Ask|Check|Walk|Read|At the next (planned outage|opportunity), have)\b"
    )
    for cause in CAUSES.values():
        for check in every_check(cause):
            assert begin.match(check), check


def test_the_general_caution_stands():
    assert "advises checks" in GENERAL_CAUTION
    assert "does not tell anyone to operate a valve" in GENERAL_CAUTION
