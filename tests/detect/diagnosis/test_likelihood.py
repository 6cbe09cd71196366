"""Which cause explains a change: its own pattern, signs respected, doubt shared; or nothing; or else."""

from dataclasses import replace

import numpy as np
import pytest
from diagnosed import shares

from sevenppb.detect.causes import CAUSES
from sevenppb.detect.diagnosis import likelihood

PROCESS = sorted(slug for slug, cause in CAUSES.items() if cause.parameter is not None)


def first(diagnosis):
    return diagnosis.explanations[0]


@pytest.mark.parametrize("times", [1.0, 2.0])
@pytest.mark.parametrize("cause", PROCESS)
def test_a_causes_own_pattern_names_it(full, cause, times):
    found = full.diagnosis(times * full.pattern(cause))
    assert (first(found).cause, first(found).role) == (cause, None)
    assert first(found).probability > 0.5
    assert found.nothing < 0.1


@pytest.mark.parametrize(
    "cause",
    ["fouled-sprays", "worn-sprays", "choked-vent", "open-vent", "tray-damage", "flooded-trays", "heat-loss"],
)
def test_the_reverse_of_a_pattern_is_another_cause(full, cause):
    """An oxygen reading that falls is no tray damage, though it moves what tray damage moves."""
    assert shares(full.diagnosis(-1.5 * full.pattern(cause)))[cause, None] < 0.15


@pytest.mark.parametrize("bent", [-0.6, 0.6])
def test_how_a_fault_grows_with_load_may_differ_from_the_model(full, bent):
    """Sprays and trays follow load in many ways: that parts no two causes which the levels can't part."""
    days = full.days
    effect = full.pattern("tray-damage").copy()
    level, rise = (days.features.index(name) for name in ("subcooling", "subcooling_swing"))
    effect[rise] += bent * days.swing * effect[level]
    assert shares(full.diagnosis(effect))["tray-damage", None] > 0.4


@pytest.mark.parametrize(
    "sensor",
    [
        "outlet_flow:+",
        "outlet_flow:-",
        "outlet_oxygen:-",
        "vent_temperature:+",
        "vent_temperature:-",
        "inlet_oxygen:+",
    ],
)
def test_one_reading_alone_is_its_sensor(full, sensor):
    role, sign = sensor.split(":")
    found = first(full.diagnosis(2.0 * full.pattern(f"sensor-drift:{sensor}")))
    assert (found.cause, found.role) == ("sensor-drift", role)
    assert found.candidate.sign == (1 if sign == "+" else -1)


def test_a_larger_change_is_told_as_larger(full):
    pattern = full.pattern("choked-vent")
    small, large = (first(full.diagnosis(times * pattern)) for times in (1.0, 3.0))
    assert small.low < small.size < small.high
    assert large.size > 1.5 * small.size


def test_the_predicted_pattern_is_the_causes_own(full):
    found = first(full.diagnosis(full.pattern("fouled-sprays")))
    moved = dict(zip(full.days.features, found.pattern / full.natural(), strict=True))
    assert moved["spray_differential"] > 0.5
    assert moved["vent_flow"] == pytest.approx(0.0, abs=0.05)


def test_probabilities_are_shares(full):
    found = full.diagnosis(full.pattern("tray-damage"))
    told = [e.probability for e in found.explanations]
    assert sum(told) == pytest.approx(1.0)
    assert told == sorted(told, reverse=True)
    assert 0.0 <= found.nothing <= 1.0
    assert {e.cause for e in found.explanations} == set(CAUSES) - {"sensor-stuck"}


def test_with_subcooling_alone_no_cause_is_sure(five):
    """Five tags show one residual that a fault moves, and its rise with load: nearly every cause raises it."""
    assert set(five.days.features) <= {"subcooling", "subcooling_swing", "supply_pressure"}
    told = shares(five.diagnosis(five.effect(subcooling=2.0)))
    assert max(told.values()) < 0.7
    assert sum(share > 0.05 for share in told.values()) >= 4
    assert told["fouled-sprays", None] == pytest.approx(told["worn-sprays", None], rel=0.2)


def test_water_hotter_than_it_can_be_is_a_sensor(five):
    """Nothing in the vessel lowers subcooling by two natural moves."""
    told = shares(five.diagnosis(five.effect(subcooling=-2.0)))
    sensors = sum(share for (cause, _), share in told.items() if cause == "sensor-drift")
    assert sensors > 0.5


@pytest.mark.parametrize(
    "moved",
    [
        {"spray_differential": 4.0, "vent_flow": 6.0},
        {"inlet_oxygen": 4.0, "vent_temperature": 5.0, "spray_differential": -4.0},
        {"vent_temperature": 6.0, "vent_flow": -6.0, "outlet_flow": 4.0},
        {"subcooling": -4.0, "spray_differential": 4.0, "steam_flow": 5.0, "vent_temperature": 4.0},
    ],
)
def test_a_pattern_that_no_cause_makes_is_unexplained(full, moved):
    found = full.diagnosis(full.effect(**moved))
    assert first(found).cause == "unexplained"
    assert first(found).candidate is None
    assert found.nothing < 0.01


def test_nothing_is_nothing(full):
    assert full.diagnosis(full.effect()).nothing > 0.5


def test_noise_is_nothing(full):
    rng = np.random.default_rng(6)
    error = 0.1
    for _ in range(20):
        effect = error * full.natural() * rng.standard_normal(len(full.natural()))
        assert full.diagnosis(effect, error).nothing > 0.5


def test_what_moved_less_than_instruments_wander_is_nothing(full):
    """However small its error: half a slow move that instruments in service make anyway."""
    assert full.diagnosis(full.effect(vent_temperature=0.08), error=0.001).nothing > 0.5


@pytest.mark.parametrize("moves", [-2.0, 1.5, 2.0])
def test_a_supply_that_moves_alone_is_nothing(full, moves):
    """Headers are moved by others; a gauge that drifts shows in the valve too."""
    alone = full.diagnosis(full.effect(supply_pressure=moves), error=0.05)
    assert alone.nothing > 0.5
    gauge = full.diagnosis(3.0 * moves * full.pattern("sensor-drift:steam_pressure:+"), error=0.05)
    assert (first(gauge).cause, first(gauge).role) == ("sensor-drift", "steam_pressure")
    assert gauge.nothing < 0.1


def test_a_fault_beside_a_supply_that_moves_is_still_itself(full):
    both = full.pattern("choked-vent") + full.effect(supply_pressure=-1.5)
    found = first(full.diagnosis(both, error=0.05))
    assert (found.cause, found.beside) == ("choked-vent", None)
    assert found.probability > 0.5


def test_a_cause_that_would_show_nothing_explains_nothing(full):
    """A supply that suffices under these loads hides what it lost: whatever else moved, that does not tell of it."""
    names = [candidate.name for candidate in full.patterns.candidates]
    hidden = [
        k for k, candidate in enumerate(full.patterns.candidates) if candidate.cause == "steam-starvation"
    ]
    moves = full.patterns.moves.copy()
    moves[..., hidden] = 0.0
    without = replace(full, patterns=replace(full.patterns, moves=moves))
    effect = 0.2 * full.pattern(names[0])
    assert ("steam-starvation", None) in shares(full.diagnosis(effect))
    assert ("steam-starvation", None) not in shares(without.diagnosis(effect))


def test_where_nothing_can_be_told_from_noise_no_cause_is_told(full):
    found = full.diagnosis(full.pattern("choked-vent"), error=1e4)
    assert [e.cause for e in found.explanations] == ["unexplained"]
    assert found.nothing > 0.9


def test_the_same_change_with_less_doubt_is_surer(full):
    effect = 0.6 * full.pattern("choked-vent")
    assert full.diagnosis(effect, 0.02).nothing < full.diagnosis(effect, 1.0).nothing


def test_a_residual_without_enough_days_says_nothing(full):
    """An infinite error leaves the others to tell; the pattern then has their length."""
    effect = full.pattern("choked-vent").copy()
    error = np.full(len(effect), 0.02)
    blind = list(full.days.features).index("vent_flow")
    effect[blind], error[blind] = 0.0, np.inf
    found = full.diagnosis(effect, error)
    assert first(found).cause == "choked-vent"
    assert len(first(found).pattern) == len(effect) - 1


@pytest.mark.parametrize(("times", "grows"), [(0.8, True), (-0.8, False)])
def test_a_known_change_may_grow_or_go_back(full, times, grows):
    known = full.pattern("fouled-sprays")
    found = full.diagnosis(times * known, earlier=(known,))
    again = found.again[0]
    assert (again.growing > again.going_back) == grows
    assert again.growing + again.going_back > 0.3


def test_no_more_goes_back_than_was_there(full):
    """Three times as far the other way is another fault."""
    known = full.pattern("fouled-sprays")
    assert full.diagnosis(-3.0 * known, earlier=(known,)).again[0].going_back < 0.3
    assert full.diagnosis(-1.0 * known, earlier=(known,)).again[0].going_back > 0.3


def test_something_new_is_no_known_change(full):
    found = full.diagnosis(full.pattern("open-vent"), earlier=(full.pattern("fouled-sprays"),))
    assert first(found).cause == "open-vent"
    assert found.again[0].growing + found.again[0].going_back < 0.1


def test_patterns_are_taken_at_days_that_ran_with_a_load(full):
    """At a day that stood, or whose load was not read, the model has no point to be asked at."""
    stood, unread = full.patterns.rows[2], full.patterns.rows[5]
    hours, flow = full.days.hours.copy(), full.days.at.flow.copy()
    hours[stood], flow[unread] = 0.0, np.nan
    days = replace(full.days, hours=hours, at=replace(full.days.at, flow=flow))
    found = likelihood.patterns_of(days, full.instruments)
    assert {*full.patterns.rows} - {*found.rows} == {stood, unread}
    assert {*found.rows} <= {*full.patterns.rows}
