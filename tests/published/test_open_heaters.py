"""Heat balance of a direct-contact heater against textbook power cycles, each turbine state by IAPWS-IF97."""

from dataclasses import replace

import numpy as np
from iapws import IAPWS97

from sevenppb.detect.physics import heat, steam
from sevenppb.detect.physics.heat import Heater, Stream


def expanded(h, s, MPa, efficiency=1.0):
    """Enthalpy and entropy [kJ/kg, kJ/kg K] after a turbine stage."""
    ideal = IAPWS97(P=MPa, s=s)
    real = h - efficiency * (h - ideal.h)
    return real, IAPWS97(P=MPa, h=real).s


def pumped(low_MPa, high_MPa):
    """Enthalpy of condensate after an ideal pump [kJ/kg]."""
    water = IAPWS97(P=low_MPa, x=0)
    return water.h + water.v * (high_MPa - low_MPa) * 1e3


def share(steam_h, water_h, MPa, drain=None):
    """Steam per unit of outlet water of a heater without vent or loss; `drain` is (flow, enthalpy)."""
    hot = steam.enthalpy_liquid(float(steam.saturation_temperature(MPa * 1e6)))
    heater = Heater(
        inlet=Stream(np.nan, water_h * 1e3),
        steam=Stream(np.nan, steam_h * 1e3),
        outlet=Stream(1.0, hot),
        vent=Stream(0.0, 0.0),
        drain=Stream(drain[0], drain[1] * 1e3) if drain else None,
        follows="inlet",
    )
    y = float(heat.steam_needed(heater))
    # the same balance solved from the inlet's side
    inlet = Stream(1.0 - y - (drain[0] if drain else 0.0), water_h * 1e3)
    again = heat.steam_needed(replace(heater, inlet=inlet, follows="outlet"))
    assert abs(float(again) - y) < 1e-12
    return y


def test_moran_and_shapiro_example_8_5():
    """Moran, Shapiro et al., Fundamentals of Engineering Thermodynamics, 7th ed. (2011), Example 8.5: 8 MPa,
    480 degC; open heater 0.7 MPa; condenser 0.008 MPa; stages 85 %. y 0.1965 (an independent solution on a
    public page)."""
    inlet = IAPWS97(P=8.0, T=480.0 + 273.15)
    bled, _ = expanded(inlet.h, inlet.s, 0.7, 0.85)
    assert abs(share(bled, pumped(0.008, 0.7), 0.7) - 0.1965) < 1e-4


def test_onkar_singh_chapter_8_example_6():
    """Onkar Singh, Applied Thermodynamics, chapter 8, Example 6 (b): 200 bar, 650 degC; open heater 8 bar;
    condenser 0.05 bar; ideal. Bleed 0.2216 per kg (a public solution with the book's own table values)."""
    inlet = IAPWS97(P=20.0, T=650.0 + 273.15)
    bled, _ = expanded(inlet.h, inlet.s, 0.8)
    assert abs(share(bled, pumped(0.005, 0.8), 0.8) - 0.2216) < 2e-4


def test_cengel_and_boles_closed_and_open_heater():
    """Cengel and Boles, Thermodynamics, An Engineering Approach: 10 MPa, 500 degC; closed heater 0.7 MPa,
    drained into an open one at 0.3 MPa; condenser 10 kPa. y 0.06213 in the closed heater, z 0.1425 in the
    open one (a public solution, which takes the closed heater's outlet as saturated liquid at 0.7 MPa)."""
    inlet = IAPWS97(P=10.0, T=500.0 + 273.15)
    open_steam, _ = expanded(inlet.h, inlet.s, 0.3)
    drain = float(steam.enthalpy_liquid(steam.saturation_temperature(0.7e6))) / 1e3
    z = share(open_steam, pumped(0.010, 0.3), 0.3, drain=(0.06213, drain))
    assert abs(z - 0.1425) < 2e-4


def test_moran_and_shapiro_heater_is_a_mass_balance_only():
    """Moran and Shapiro, mass-balance example: 40 kg/s of steam and 25 cm2 of water at 40 degC give 0.06 m3/s
    of saturated water at 7 bar, 54.15 and 14.15 kg/s (answers from memory, recomputed). As a heat balance it
    does not close, and the steam needed says so."""
    out = 0.06 / IAPWS97(P=0.7, x=0).v
    assert abs(out - 54.15) < 0.02
    heater = Heater(
        inlet=Stream(14.153, steam.enthalpy_liquid(40.0), flow_sd=0.14),
        steam=Stream(40.0, steam.enthalpy_steam(7e5, 200.0), flow_sd=0.4),
        outlet=Stream(out, steam.enthalpy_liquid(steam.saturation_temperature(7e5)), flow_sd=0.5),
        vent=Stream(0.0, 0.0),
    )
    missing, sd = heat.mass_closure(heater)
    assert abs(float(missing)) < float(sd)
    assert 40.0 - float(heat.steam_needed(heater)) > 20 * np.hypot(0.4, heat.closing_sd(heater, "steam"))


def test_mixing_pipe():
    """Cengel and Boles, 6th ed., problem 6-90: 10 kg/s of water and 0.2 kg/s of steam leave through 3 cm at
    60 degC with 14.68 m/s."""
    speed = 10.2 * IAPWS97(T=60.0 + 273.15, x=0).v / (np.pi / 4.0 * 0.03**2)
    assert abs(float(speed) - 14.68) < 0.006
