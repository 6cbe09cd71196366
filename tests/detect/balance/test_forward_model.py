"""The forward model against balances worked out with iapws, limits that anybody knows, and directions."""

from dataclasses import fields, replace

import numpy as np
import pytest
from iapws import IAPWS97

from sevenppb.detect.balance import model
from sevenppb.detect.balance.health import ADDITIVE, Health
from sevenppb.detect.balance.model import Conditions
from sevenppb.detect.physics import heat, nozzle, oxygen, steam

AIR = 101325.0
HEALTH = Health(flow=20.0, pressure=1.36e5, supply=6.0e5, barometer=AIR)


def conditions(**changed):
    one = Conditions(
        flow=20.0,
        inlet_temperature=70.0,
        shell_pressure=1.36e5,
        steam_pressure=6.0e5,
        steam_temperature=180.0,
        barometer=AIR,
        vent_valve=1.0,
        inlet_oxygen=4000.0,
        drain_flow=1.0,
        drain_temperature=100.0,
        makeup_share=np.nan,
        scavenger_dose=np.nan,
    )
    rows = np.broadcast_arrays(*(changed.get(f.name, getattr(one, f.name)) for f in fields(one)), np.zeros(1))
    return Conditions(*(np.array(row, dtype=float) for row in rows[:-1]))


def at_once(health=HEALTH, **changed):
    """Expected readings as floats."""
    found = model.expected(conditions(**changed), health)
    return {name: float(np.squeeze(value)) for name, value in vars(found).items()}


def test_mass_and_heat_close_by_iapws():
    health = replace(HEALTH, heat_loss=0.7)
    found = at_once(health)
    boiling = IAPWS97(P=0.136, x=0).T
    outlet = IAPWS97(
        T=boiling - found["subcooling"], x=0
    ).h  # as it is stored: cooled by its half of the heat loss
    brought = (
        20.0 * IAPWS97(T=70.0 + 273.15, x=0).h
        + 1.0 * IAPWS97(T=100.0 + 273.15, x=0).h
        + found["steam_flow"] * IAPWS97(P=0.6, T=180.0 + 273.15).h
    )
    taken = (
        found["outlet_flow"] * outlet
        + found["vent_flow"] * IAPWS97(P=0.136, x=1).h
        + 2 * 0.7 * 20.0 * heat.CP_WATER / 1e3
    )
    assert abs(brought / taken - 1.0) < 1e-6
    assert abs(20.0 + 1.0 + found["steam_flow"] - found["vent_flow"] - found["outlet_flow"]) < 1e-9


def test_gas_leaves_as_fast_as_it_comes():
    """The vent's moles of oxygen per mole of steam are the inlet's over the vent's flow."""
    found = at_once(replace(HEALTH, spray_transfer=30.0, tray_transfer=1e-9, heat_loss=0.0, gas_mixing=1.0))
    into = 20.0 * 4000e-6 / 31.9988  # mol/s
    vapour = found["vent_flow"] * 1e3 / 18.015268
    gas = float(oxygen.gas_per_oxygen(20.0)) * into
    share = gas / (gas + vapour)
    depressed = steam.saturation_temperature(1.36e5 * (1.0 - share))
    # sprays that lack nothing, over trays that do nothing, leave water in equilibrium with the vent's vapour
    boiling = steam.saturation_temperature(1.36e5)
    assert abs(found["subcooling"] - float(boiling - depressed)) < 1e-6
    held = oxygen.equilibrium_oxygen(1.36e5 * share * into / gas, depressed)
    assert abs(found["outlet_oxygen"] / float(held) - 1.0) < 1e-6


def test_the_water_meets_less_gas_than_the_vent_passes():
    """However much of it that is, what the vent passes is the same, and so is its line's warmth."""
    most, half = (at_once(replace(HEALTH, gas_mixing=share)) for share in (1.0, 0.5))
    assert half["outlet_oxygen"] < most["outlet_oxygen"]
    assert half["subcooling"] < most["subcooling"]
    assert half["vent_temperature"] == most["vent_temperature"]


def test_what_throttling_took_does_not_come_back_with_the_vents_flow():
    """The line lacks the same to boiling however it is shared out; only what cooling took changes with the flow."""
    shares = [replace(HEALTH, vent_line=0.05, vent_throttled=share) for share in (0.0, 0.5, 1.0)]
    usual, choked = (
        [
            at_once(health.moved("vent_openness", by), inlet_oxygen=1e-3)["vent_temperature"]
            for health in shares
        ]
        for by in (0.0, -1.0)
    )
    boiling = float(steam.saturation_temperature(1.36e5))
    assert usual == pytest.approx([20.0 + (boiling - 20.0) * np.exp(-0.05)] * 3, abs=1e-3)
    fallen = [before - after for before, after in zip(usual, choked, strict=True)]
    assert fallen[0] > 1.5 * fallen[1] > 0.0
    assert fallen[2] == pytest.approx(0.0, abs=1e-3)


def test_transfer_without_bound_leaves_boiling_water_without_oxygen():
    found = at_once(replace(HEALTH, spray_transfer=30.0, tray_transfer=30.0, heat_loss=0.0))
    assert abs(found["subcooling"]) < 1e-9
    assert found["outlet_oxygen"] < 1e-9


def test_no_transfer_leaves_the_water_as_it_came():
    found = at_once(replace(HEALTH, spray_transfer=0.0, tray_transfer=0.0, heat_loss=0.0))
    assert abs(found["subcooling"] - (float(steam.saturation_temperature(1.36e5)) - 70.0)) < 1e-9
    assert abs(found["outlet_oxygen"] - 4000.0) < 1e-9


def test_a_vessel_at_its_reference_reads_its_health():
    found = at_once()
    assert abs(found["vent_flow"] - HEALTH.vent_share * 20.0) < 1e-12
    assert abs(found["spray_differential"] - HEALTH.spray_differential) < 1e-6
    assert found["inlet_oxygen"] == HEALTH.inlet_gas


def test_the_vent_follows_the_barometer_where_it_isnt_choked():
    low, usual = at_once(barometer=0.98 * AIR)["vent_flow"], at_once()["vent_flow"]
    density = steam.density_vapour(1.36e5)
    ratio = nozzle.mass_flux(1.36e5, 0.98 * AIR, density) / nozzle.mass_flux(1.36e5, AIR, density)
    assert abs(low / usual - float(ratio)) < 1e-12
    assert low > 1.01 * usual
    assert (
        at_once(shell_pressure=3e5, barometer=0.98 * AIR)["vent_flow"]
        == at_once(shell_pressure=3e5)["vent_flow"]
    )


@pytest.mark.parametrize(
    ("parameter", "by", "rises", "falls"),
    [
        (
            "vent_openness",
            -1.0,
            ["outlet_oxygen", "subcooling"],
            ["vent_flow", "vent_temperature", "steam_flow"],
        ),
        ("spray_openness", -0.5, ["outlet_oxygen", "subcooling", "spray_differential"], []),
        ("spray_openness", 0.5, ["outlet_oxygen", "subcooling"], ["spray_differential"]),
        ("tray_transfer", -0.5, ["outlet_oxygen", "subcooling"], []),
        ("flood_margin", -0.6, ["outlet_oxygen", "subcooling"], []),
        ("inlet_gas", 0.5, ["inlet_oxygen"], []),
        ("supply_capacity", -0.3, ["steam_valve"], []),
        ("heat_loss", 0.5, ["subcooling", "steam_flow"], []),
    ],
)
def test_what_a_fault_moves(parameter, by, rises, falls):
    before, after = at_once(), at_once(HEALTH.moved(parameter, by))
    for name in rises:
        assert after[name] > before[name] * (1 + 1e-6)
    for name in falls:
        assert after[name] < before[name] * (1 - 1e-6)


def test_unmeasured_inlet_oxygen_is_the_healths():
    assert at_once(inlet_oxygen=np.nan) == at_once(inlet_oxygen=HEALTH.inlet_gas)


def test_many_healths_in_one_are_each_alone():
    steps = np.array([[-0.4], [0.0], [0.3]])
    here = conditions(flow=np.array([10.0, 20.0, 25.0, 30.0]))
    for parameter in ("spray_openness", "vent_openness", "spray_exponent", "inlet_gas", "heat_loss"):
        scaled = 0.5 * steps if parameter in ADDITIVE else steps
        together = model.expected(here, HEALTH.moved(parameter, scaled))
        for k, step in enumerate(scaled[:, 0]):
            alone = model.expected(here, HEALTH.moved(parameter, float(step)))
            for f in fields(alone):
                row = np.broadcast_to(getattr(together, f.name), (3, 4))[k]
                np.testing.assert_allclose(row, getattr(alone, f.name), rtol=1e-12)


def test_a_missing_condition_leaves_no_number_where_it_counts():
    found = at_once(inlet_temperature=np.nan)
    assert np.isnan(
        [found[name] for name in ("subcooling", "steam_flow", "steam_valve", "outlet_flow")]
    ).all()
    assert np.isfinite([found[name] for name in ("vent_flow", "spray_differential", "outlet_oxygen")]).all()
