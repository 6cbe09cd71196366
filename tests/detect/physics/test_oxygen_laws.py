import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from sevenppb.detect.physics import oxygen, steam


def test_seven_ppb_needs_almost_no_gas():
    """About 27 Pa of oxygen at 5 psig: a share of 2e-4 of the shell's pressure."""
    assert 6.8 < float(oxygen.equilibrium_oxygen(27.3, 108.391)) < 7.2


def test_boiling_water_holds_no_air():
    """Under moist air at the barometer, what steam leaves to the air shrinks to nothing at the boil."""
    celsius = np.array([20.0, 50.0, 80.0, 95.0, 99.9, 99.974])
    dry = np.maximum(101325.0 - steam.saturation_pressure(celsius), 0.0)
    falling = oxygen.equilibrium_oxygen(oxygen.OXYGEN_IN_AIR * dry, celsius)
    assert np.all(np.diff(falling) < 0)
    assert falling[0] > 8500.0
    assert falling[-1] < 0.3


def test_a_tonne_an_hour_of_eight_ppm():
    """8 g an hour of O2 are 0.25 mol an hour."""
    assert abs(float(oxygen.moles(1000.0 / 3600.0, 8000.0)) * 3600.0 - 8.0 / 31.9988) < 1e-12


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
        oxygen.equilibrium_oxygen(np.nan, 50.0),
        oxygen.depressed_saturation(1.2e5, np.nan),
        oxygen.stripped(np.nan, 0.0, 3.0),
        oxygen.gas_pressure(1e5, np.nan, 0.1),
        oxygen.henry(1.0),
    ):
        assert np.isnan(found)
