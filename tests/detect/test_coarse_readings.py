"""A reading that is stored in steps may be off by half of one, unless it moves enough to be spread over them."""

import numpy as np
import pytest

from sevenppb.detect.features import WATCHED, coarseness

HOURS = 4000
VENT, OXYGEN = WATCHED["vent_flow"], WATCHED["outlet_oxygen"]


def moving(usual: float, by: float) -> np.ndarray:
    """Hours about a level that wanders slowly by a twentieth, and by `by` from hour to hour."""
    rng = np.random.default_rng(4)
    slow = 0.05 * usual * np.sin(np.arange(HOURS) / 300.0)
    return usual + slow + by * rng.standard_normal(HOURS)


def in_steps(values: np.ndarray, step: float) -> np.ndarray:
    return step * np.round(values / step)


def test_a_reading_that_takes_any_value_is_not_off():
    assert coarseness(VENT, moving(0.07, 0.002)) == 0.0


def test_half_a_step_of_one_that_hardly_moves():
    assert coarseness(VENT, in_steps(moving(0.065, 0.0), 0.01)) == pytest.approx(
        np.log(0.075 / 0.07), rel=0.1
    )


@pytest.mark.parametrize("by", [0.1, 0.2, 0.3, 0.5, 1.0])
def test_less_where_it_moves_from_hour_to_hour(by):
    """No less than the mean of rounded values is truly off, with the worst place in a step, and next to nothing from
    half a step on."""
    noise = by * np.random.default_rng(5).standard_normal(200_000)
    worst = max(abs(np.mean(np.round(mean + noise)) - mean) for mean in np.linspace(3.0, 4.0, 21))
    near = [
        np.expm1(coarseness(OXYGEN, in_steps(moving(level, by), 1.0))) * 3.5 for level in (3.0, 3.25, 3.75)
    ]
    assert min(near) > worst - 0.01
    if by >= 0.5:
        assert max(near) < 0.02


def test_one_that_stands_may_move_by_its_natural_move():
    assert coarseness(VENT, np.full(HOURS, 0.07)) == VENT.natural
    spikes = np.full(HOURS, 0.07)
    spikes[::200] = 0.12
    assert coarseness(VENT, spikes) == VENT.natural


def test_hours_without_a_reading_and_none_at_all():
    values = in_steps(moving(0.065, 0.0), 0.01)
    gaps = np.where(np.arange(HOURS) % 7 == 0, np.nan, values)
    assert coarseness(VENT, gaps) == pytest.approx(coarseness(VENT, values), rel=0.1)
    assert coarseness(VENT, np.full(HOURS, np.nan)) == 0.0
