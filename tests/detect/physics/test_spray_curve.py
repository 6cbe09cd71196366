import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from sevenppb.detect.physics import sprays


def test_fixed_orifices_follow_the_square():
    """Flow 100, 75, 50, 30, 25, 20 % gives 100, 56.3, 25, 9, 6.25, 4 % of the drop (any textbook of flow
    metering)."""
    found = sprays.differential(np.array([100, 75, 50, 30, 25, 20]), sprays.Curve(100.0, 100.0))
    np.testing.assert_allclose(found, [100, 56.25, 25, 9, 6.25, 4], rtol=1e-12)


def test_a_soft_spring_holds_the_differential_up_at_low_flow():
    stiff, spring = sprays.Curve(50.0, 4e4), sprays.Curve(50.0, 4e4, exponent=1.2)
    flow = np.array([0.0, 10.0, 50.0])
    np.testing.assert_allclose(sprays.differential(flow, stiff), [0.0, 4e4 / 25.0, 4e4])
    assert sprays.differential(10.0, spring) > sprays.differential(10.0, stiff)


def test_half_the_area_takes_four_times_the_differential():
    curve = sprays.Curve(50.0, 4e4)
    assert abs(float(sprays.differential(25.0, curve, 0.5) / sprays.differential(25.0, curve)) - 4.0) < 1e-12


@given(
    flow=st.floats(1.0, 200.0),
    area=st.floats(0.05, 3.0),
    exponent=st.floats(1.0, 2.0),
)
def test_openness_there_and_back(flow, area, exponent):
    curve = sprays.Curve(60.0, 4e4, exponent)
    found = sprays.openness(flow, sprays.differential(flow, curve, area), curve)
    np.testing.assert_allclose(found, area, rtol=1e-6)


def test_shut_valves_and_missing_readings_say_nothing():
    curve = sprays.Curve(60.0, 4e4)
    flow, measured = np.array([0.0, 20.0, np.nan, 20.0]), np.array([2e4, -0.1e4, 2e4, np.nan])
    assert np.all(np.isnan(sprays.openness(flow, measured, curve)))
    assert np.all(np.isnan(sprays.differential(np.array([-1.0, np.nan]), curve)))
