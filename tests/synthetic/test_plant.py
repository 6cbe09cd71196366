"""The plant at rest against hand balances with iapws, its nozzle against published flux, and its segments."""

from dataclasses import fields, replace

import numpy as np
import pytest
from iapws import IAPWS97

from sevenppb.synthetic import plant
from sevenppb.synthetic.plant import Drivers, States, run
from sevenppb.synthetic.simulation import FleetPlan, drawn_specs
from sevenppb.synthetic.steam import MOLAR_NITROGEN, MOLAR_OXYGEN, MOLAR_WATER
from sevenppb.synthetic.tuning import constant_drivers, settled, subcooling, tuned
from sevenppb.synthetic.vessel import Sizes, VesselSpec

VESSELS = 24


@pytest.fixture(scope="module")
def specs() -> list[VesselSpec]:
    return tuned(drawn_specs(FleetPlan(seed=101, vessels=VESSELS)))


def _calm(specs: list[VesselSpec]) -> list[VesselSpec]:
    """Without the stem's sticking, which makes pressure hunt a little for ever."""
    return [replace(spec, valve_stick=0.0) for spec in specs]


def test_mass_and_heat_balance_close_by_hand(specs: list[VesselSpec]) -> None:
    calm = _calm(specs)
    shown, d = settled(calm), constant_drivers(calm, 0.8, 1)
    for k, spec in enumerate(calm):
        inlet, steam_flow, vent = shown.inlet_flow[0, k], shown.steam_flow[0, k], shown.vent_flow[0, k]
        drain, outflow = d.drain_flow[0, k], d.outflow[0, k]
        assert inlet + steam_flow + drain - vent == pytest.approx(outflow, rel=2e-3)

        shell = shown.pressure[0, k] / 1e6
        storage = shown.storage_enthalpy[0, k]
        supply = IAPWS97(P=spec.header / 1e6, T=IAPWS97(P=spec.header / 1e6, x=1).T + spec.superheat).h
        raw = 12.0 + spec.makeup_warmed
        cold = spec.makeup_share * raw + (1 - spec.makeup_share) * spec.condensate_temperature
        water = IAPWS97(T=cold + 273.15, x=0).h
        hot = IAPWS97(T=IAPWS97(P=shell, x=0).T + spec.drain_above, x=0).h
        celsius = IAPWS97(P=shell, x=0).T - 273.15 - subcooling(shown.pressure, shown.storage_enthalpy)[0, k]
        lost = spec.shell_loss + spec.storage_loss * (celsius - 10.0)
        brought = inlet * water + steam_flow * supply + drain * hot
        taken = outflow * storage + vent * IAPWS97(P=shell, x=1).h + lost
        # the outflow is what level control has not quite settled to
        taken += (inlet + steam_flow + drain - vent - outflow) * storage
        assert brought - taken == pytest.approx(0, abs=0.01 * steam_flow * supply)


def test_gas_that_leaves_the_water_leaves_by_the_vent(specs: list[VesselSpec]) -> None:
    shown, d = settled(_calm(specs)), constant_drivers(specs, 0.8, 1)
    for k, spec in enumerate(specs):
        oxygen = d.inlet_oxygen[0, k] - shown.storage_oxygen[0, k]
        nitrogen = d.inlet_nitrogen[0, k]
        moles = shown.inlet_flow[0, k] * 1e-9 * (oxygen / MOLAR_OXYGEN + nitrogen / MOLAR_NITROGEN)
        steam_moles = shown.vent_flow[0, k] / (1 - spec.vent_condensing) / MOLAR_WATER
        assert shown.top_air[0, k] == pytest.approx(moles / steam_moles, rel=0.03)


@pytest.mark.parametrize(
    ("gauge", "flux"),
    [
        # kg/(s m²) of saturated steam through an ideal nozzle to 101.325 kPa, homogeneous equilibrium,
        # computed from IF97 by isentropic expansion; at 15 psi gauge the nozzle is choked
        (3.0, 151.6),
        (5.0, 191.6),
        (8.0, 235.3),
        (15.0, 309.25),
    ],
)
def test_vent_passes_what_an_ideal_nozzle_passes(specs: list[VesselSpec], gauge: float, flux: float) -> None:
    spec = replace(specs[0], gauge=gauge * 6894.757, barometer=101325.0, valve_stick=0.0, header=6e5)
    shown = settled([spec])
    assert shown.pressure[0, 0] == pytest.approx(spec.gauge + 101325.0, rel=2e-3)
    assert shown.vent_flow[0, 0] / spec.vent_area == pytest.approx(flux, rel=0.02)


@pytest.mark.parametrize("load", [0.5, 0.8, 1.0])
def test_healthy_vessels_are_in_the_trade_s_range(specs: list[VesselSpec], load: float) -> None:
    shown = settled(specs, load)
    below = subcooling(shown.pressure, shown.storage_enthalpy)[0]
    oxygen = shown.storage_oxygen[0]
    assert below.min() > 0.05
    assert below.max() < 2.5
    assert oxygen.min() > 0.3
    assert oxygen.max() < 9.0
    assert np.median(below) == pytest.approx(0.45, abs=0.3)
    assert np.median(oxygen) == pytest.approx(2.5, abs=1.3)


def test_tuning_meets_its_targets(specs: list[VesselSpec]) -> None:
    shown = settled(specs)
    wanted = np.array([spec.target_oxygen for spec in specs])
    met = abs(shown.storage_oxygen[0] / wanted - 1) < 0.1
    assert met.mean() > 0.9


def _varied(specs: list[VesselSpec], days: float) -> Drivers:
    steps = int(days * 144)
    calm = constant_drivers(specs, 0.8, steps)
    swing = (
        1 + 0.2 * np.sin(np.arange(steps) / 23.0)[:, None] + 0.1 * np.sin(np.arange(steps) / 411.0)[:, None]
    )
    return replace(calm, outflow=calm.outflow * swing)


def test_cutting_time_into_segments_changes_nothing(
    specs: list[VesselSpec], monkeypatch: pytest.MonkeyPatch
) -> None:
    few = _calm(specs[:3])
    drivers = _varied(few, 12)
    monkeypatch.setattr(plant, "WARM_UP_DAYS", 2)
    monkeypatch.setattr(plant, "SEGMENT_DAYS", 12)
    whole = run(Sizes.stack(few), drivers, 10.0)
    monkeypatch.setattr(plant, "SEGMENT_DAYS", 3)
    cut = run(Sizes.stack(few), drivers, 10.0)
    for field in fields(States):
        assert getattr(cut, field.name) == pytest.approx(getattr(whole, field.name), rel=1e-4), field.name


def test_vessels_do_not_know_of_each_other(specs: list[VesselSpec]) -> None:
    drivers = _varied(specs[:3], 1)
    together = run(Sizes.stack(specs[:3]), drivers, 10.0)
    one = Drivers(**{f.name: getattr(drivers, f.name)[:, 1:2] for f in fields(Drivers)})
    alone = run(Sizes.stack(specs[1:2]), one, 10.0)
    assert alone.storage_enthalpy[:, 0] == pytest.approx(together.storage_enthalpy[:, 1], rel=1e-12)


def test_pressure_drop_boils_storage_down_and_never_leaves_it_superheated(specs: list[VesselSpec]) -> None:
    few = [spec for spec in _calm(specs) if spec.gauge > 3e4][:4]
    drivers = constant_drivers(few, 0.8, 288)
    lower = drivers.set_pressure.copy()
    lower[144:] -= 1.5e4
    shown = run(Sizes.stack(few), replace(drivers, set_pressure=lower), 10.0)
    below = subcooling(shown.pressure, shown.storage_enthalpy)
    assert shown.pressure[143] - shown.pressure[-1] == pytest.approx(1.5e4, rel=0.1)
    assert below[-20:].min() > 0.03
    # while it boils the storage gives steam, so the valve gives less
    assert (shown.steam_flow[145] < shown.steam_flow[143]).all()


def test_a_cold_outage_cools_and_depressurises(specs: list[VesselSpec]) -> None:
    few = _calm(specs[:4])
    drivers = constant_drivers(few, 0.8, 4 * 144)
    off, share = drivers.running.copy(), drivers.outflow.copy()
    off[144:432] = 0.0
    share[144:432] *= 1e-4
    shown = run(Sizes.stack(few), replace(drivers, running=off, outflow=share), 10.0)
    assert shown.pressure[431] == pytest.approx(drivers.barometer[431], rel=0.01)
    assert shown.steam_flow[200:431].max() == 0
    assert (shown.storage_enthalpy[431] < shown.storage_enthalpy[143] - 10).all()
    # a day later everything is as before
    assert shown.storage_enthalpy[-1] == pytest.approx(shown.storage_enthalpy[143], rel=2e-3)
