"""Days to alarm: what counts as found, that drifts of one speed are compared at one size, and that what no chart knows
costs little."""

import numpy as np
import pytest

from benchmarks.delay import drifts, floor


def test_an_alarm_before_the_onset_is_no_find_and_none_is_infinite():
    height = np.zeros((drifts.BEFORE + 10, 3))
    height[drifts.BEFORE + 4 :, 0] = 1.0
    height[drifts.BEFORE - 1, 1] = 1.0
    np.testing.assert_array_equal(drifts.delays(height), [5.0, np.nan, np.inf])


@pytest.mark.parametrize("shape", [s for s in drifts.SHAPES if not s.startswith(("sawtooth", "step"))])
def test_drifts_of_one_speed_come_equally_far(shape):
    course = drifts.course(shape, 200, 100)
    assert np.all(course[:100] == 0)
    assert course[100] > 0
    assert course[159] == pytest.approx(60 * 12 / 365.25)
    assert np.all(np.diff(course[99:]) > 0)


def test_the_floor_of_a_step_is_a_shewharts_day_where_the_step_is_huge():
    rng = np.random.default_rng(1)
    limit = floor.limits(0.5, (1.0,), rng)
    assert len(limit) == 7
    days, soon = floor.days(0.5, "step", (10.0,), limit, rng)
    assert (days[0, 0], soon[0, 0]) == (1.0, 1.0)


def test_a_watch_that_had_to_learn_the_noise_is_nearly_as_fast_as_the_floor():
    """0.5 standard deviations a month, correlation 0.5, one false alarm a year: the floor is 43 days."""
    rng = np.random.default_rng(2)
    course = drifts.course(
        "steady", drifts.BASELINE + drifts.BEFORE + drifts.AFTER, drifts.BASELINE + drifts.BEFORE
    )
    late = [
        drifts.delays(drifts.heights(drifts.made(0.5, rng), 0.5 * course[:, None], 1.0))[0] for _ in range(25)
    ]
    assert np.nanmedian(late) < 1.35 * 43
