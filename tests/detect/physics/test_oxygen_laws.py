import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from sevenppb.detect.physics import oxygen, steam


def test_henry_and_back():
    celsius = np.linspace(5.0, 200.0, 40)
    pressure = oxygen.partial_pressure(7.0, celsius)
    np.testing.assert_allclose(oxygen.equilibrium_oxygen(pressure, celsius), 7.0, rtol=1e-12)


def test_seven_ppb_needs_almost_no_gas():
    """About 27 Pa of oxygen at 5 psig: a share of 2e-4 of the shell's pressure."""
    assert 26.0 < float(oxygen.partial_pressure(7.0, 108.391)) < 28.0


def test_boiling_water_holds_no_air():
    assert float(oxygen.saturated_with_air(100.0, 101325.0)) == 0.0
    falling = oxygen.saturated_with_air(np.array([20.0, 50.0, 80.0, 95.0, 99.9]), 101325.0)
    assert np.all(np.diff(falling) < 0)


def test_nitrogen_comes_with_oxygen():
    """Dissolved air is about a third oxygen by volume when cold (common knowledge of water treatment)."""
    assert 0.33 < 1.0 / float(oxygen.gas_per_oxygen(15.0)) < 0.36
    assert np.isnan(oxygen.gas_per_oxygen(3.0))


def test_gas_share_of_the_vent():
    none, some, all_ = oxygen.gas_pressure(
        1.36e5, np.array([0.0, 1.0, 1.0]), np.array([0.1, 0.018015268, 0.0])
    )
    assert (none, all_) == (0.0, 1.36e5)
    assert abs(some - 0.68e5) < 1e-6  # a mole of gas to a mole of steam
    assert np.isnan(oxygen.gas_pressure(1.36e5, 0.0, 0.0))


def test_less_vent_means_more_gas_and_cooler_water():
    gas = oxygen.gas_pressure(1.36e5, 0.2, np.array([0.2, 0.1, 0.05]))
    assert np.all(np.diff(gas) > 0)
    assert np.all(np.diff(oxygen.depressed_saturation(1.36e5, gas)) < 0)
    assert float(oxygen.depressed_saturation(1.36e5, 0.0)) == float(steam.saturation_temperature(1.36e5))


@given(inlet=st.floats(50.0, 12_000.0), equilibrium=st.floats(0.0, 20.0), units=st.floats(0.01, 8.0))
def test_transfer_units_there_and_back(inlet, equilibrium, units):
    outlet = oxygen.stripped(inlet, equilibrium, units)
    assert equilibrium <= float(outlet) <= inlet
    again = oxygen.transfer_units(inlet, outlet, equilibrium)
    np.testing.assert_allclose(again, units, rtol=1e-6, atol=1e-6)


def test_no_number_of_units_reaches_equilibrium():
    assert np.isnan(oxygen.transfer_units(8000.0, 2.0, 2.0))
    assert np.isnan(oxygen.transfer_units(1.0, 3.0, 2.0))
    assert np.all(np.isnan(oxygen.transfer_units(8000.0, np.array([np.nan, 5.0]), np.array([1.0, np.nan]))))


def test_nothing_gives_nothing():
    for found in (
        oxygen.henry(np.nan),
        oxygen.saturated_with_air(np.nan, 1e5),
        oxygen.equilibrium_oxygen(np.nan, 50.0),
        oxygen.depressed_saturation(1.2e5, np.nan),
        oxygen.stripped(np.nan, 0.0, 3.0),
        oxygen.gas_pressure(1e5, np.nan, 0.1),
        oxygen.henry(1.0),
    ):
        assert np.isnan(found)
