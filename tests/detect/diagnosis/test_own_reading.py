"""A gauge that drifts moves its own reading; a set point that moves alone is no fault."""

from dataclasses import replace

import numpy as np
import pytest
from diagnosed import shares
from scipy.stats import norm

from sevenppb.detect.diagnosis import explained, own_reading
from sevenppb.detect.diagnosis.signatures import SENSOR_STEPS, Candidate


@pytest.mark.parametrize("role", sorted(own_reading.HELD))
def test_a_sensor_whose_reading_moved_along_is_the_likelier(full, role):
    effect = full.pattern(f"sensor-drift:{role}:+")
    step = SENSOR_STEPS[role][0]
    moved, still, back = (
        shares(full.read_with(**{role: by}).diagnosis(effect))["sensor-drift", role]
        for by in (step, 0.0, -step)
    )
    assert moved > still
    assert back < moved


def test_its_size_is_the_move_of_the_reading(full):
    effect = full.pattern("sensor-drift:inlet_temperature:+")
    read = full.read_with(inlet_temperature=SENSOR_STEPS["inlet_temperature"][0])
    found = read.diagnosis(effect).explanations[0]
    assert (found.cause, found.role) == ("sensor-drift", "inlet_temperature")
    assert found.low < 1.0 < found.high


def test_a_set_point_that_moves_alone_is_nothing(full):
    still = full.diagnosis(full.effect()).nothing
    moved = full.read_with(shell_pressure=6000.0).diagnosis(full.effect()).nothing
    assert moved == pytest.approx(still, abs=0.02)


def test_the_ratio_is_that_of_two_mixtures(full):
    """By hand, of a reading that moved by two steps: with its drift over without, control holding it or not."""
    role = "shell_pressure"
    own = full.read_with(shell_pressure=2.0 * SENSOR_STEPS[role][0]).patterns.own
    moves = own_reading.own_moves(own, full.change(full.effect()))
    (move,) = (move for move in moves if move.role == role)
    moved, variance = move.moved, move.error**2 + move.tolerance**2
    assert moved == pytest.approx(2.0, abs=0.3)

    def density(mean):
        narrow, wide = np.sqrt(variance), np.sqrt(variance + own_reading.BROAD**2)
        return (1 - own_reading.MOVED) * norm.pdf(moved, mean, narrow) + own_reading.MOVED * norm.pdf(
            moved, mean, wide
        )

    for sign in (1, -1):
        found = own_reading.log_ratio((move,), Candidate("sensor-drift", role, sign, 2500.0, False))
        by_hand = 0.5 + 0.5 * density(sign * explained.SIZES) / density(0.0)
        np.testing.assert_allclose(found, np.log(by_hand), rtol=1e-9, atol=1e-9)


def test_other_explanations_are_not_asked(full):
    moves = own_reading.own_moves(full.patterns.own, full.change(full.effect()))
    assert {move.role for move in moves} == own_reading.HELD.keys()
    for candidate in full.patterns.candidates:
        if candidate.role not in own_reading.HELD:
            np.testing.assert_array_equal(own_reading.log_ratio(moves, candidate), 0.0)


def test_a_reading_that_is_gone_by_then_says_nothing(full):
    own = own_reading.own_readings(full.days, frozenset({"shell_pressure"}))
    gone = replace(own[0], reading=np.full(len(own[0].reading), np.nan))
    assert own_reading.own_moves((gone,), full.change(full.effect())) == ()
