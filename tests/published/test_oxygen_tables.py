"""Oxygen in water against IAPWS, the water-quality tables, and what an air-rich gas space would mean."""

import numpy as np
from iapws.iapws97 import _Region1

from sevenppb.detect.physics import oxygen, steam


def milligrams_a_litre(celsius):
    """Oxygen in water under moist air at 101.325 kPa."""
    dry = 101325.0 - steam.saturation_pressure(celsius)
    ppb = oxygen.equilibrium_oxygen(oxygen.OXYGEN_IN_AIR * dry, celsius)
    return ppb * np.array([1.0 / _Region1(t + 273.15, 0.101325)["v"] for t in celsius]) * 1e-6


def test_henry_of_the_guideline():
    """IAPWS G7-04 (2004), Guideline on the Henry's Constant and Vapor-Liquid Distribution Constant for Gases
    in H2O and D2O at High Temperatures: ln(kH / GPa) of O2, printed to 4 decimals, at the temperatures within
    this range."""
    logs = np.log(oxygen.henry(np.array([300.0, 400.0, 500.0]) - 273.15) / 1e9)
    np.testing.assert_allclose(logs, [1.5024, 1.8832, 1.1630], rtol=0, atol=6e-5)


def test_water_quality_list():
    """ISO 5814 / EN 25814, list of oxygen saturation [mg/L] at 101.325 kPa, as printed in an instrument's
    manual. The two correlations differ by up to 3.6 %: the band is theirs."""
    temperature = np.array([5.0, 10.0, 15.0, 20.0, 25.0, 30.0])
    printed = np.array([12.8, 11.3, 10.1, 9.09, 8.26, 7.56])
    assert np.max(np.abs(milligrams_a_litre(temperature) / printed - 1.0)) < 0.04


def test_water_quality_equation():
    """Benson and Krause (1984), Limnology and Oceanography 29, 620, as used by the US Geological Survey
    (2011): valid from 0 to 40 degC."""
    celsius = np.linspace(3.0, 40.0, 20)
    T = celsius + 273.15
    milligram = np.exp(
        -139.34411 + 1.575701e5 / T - 6.642308e7 / T**2 + 1.243800e10 / T**3 - 8.621949e11 / T**4
    )
    ratio = milligrams_a_litre(celsius) / milligram
    assert np.all((ratio > 0.964) & (ratio < 1.02))
    assert ratio[0] < 1.0 < ratio[-1]


def test_cubic_centimetres_of_the_specifications():
    """UFGS 15501N, Central Steam Generating System, US Navy: 0.005 cc/L is the 7 ppb of the trade; ideal gas,
    22.4136 L a mole."""
    assert abs(0.005 / 22.4136 * oxygen.MOLAR_OXYGEN * 1e3 - 7.14) < 0.005


def test_vent_mixture_of_a_tutorial():
    """A steam-engineering tutorial, as quoted on public pages, vents 22.4 g of mixture per tonne for 5.9 g of
    air per tonne in a shell of 1.2 bar with vapour at 100 degC; the mole ratio gives 25.9 g. Within a fifth,
    then."""
    air = 5.9 / 28.97  # mol; mean molar mass of dry air
    for mixture, tolerance in ((25.9, 0.002), (22.4, 0.18)):
        vapour = (mixture - 5.9) / 1e3
        gas = oxygen.gas_pressure(1.2e5, air, vapour)
        assert abs(gas / (1.2e5 - steam.saturation_pressure(100.0)) - 1.0) < tolerance
