"""Every fault moves the readings of the same vessel, with the same noise, the way physics says."""

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pandas as pd
import pytest

from sevenppb.synthetic.drivers import Clock
from sevenppb.synthetic.faults import CAUSES, DRIFTS, TABLE, Fault, draw_fault
from sevenppb.synthetic.sensors import with_sensor_fault
from sevenppb.synthetic.simulation import (
    FleetPlan,
    PlannedFault,
    drawn_specs,
    simulate,
)
from sevenppb.synthetic.steam import ln_bar, steam
from sevenppb.synthetic.tuning import tuned

DAYS, ONSET = 21, 6.0
# vessels with enough make-up for gas to matter, three kinds of load, one with a vent condenser and drains
DRAWN = FleetPlan(
    seed=12, vessels=6, faults=(), roles="all", bad_values=False, days=DAYS, step_minutes=60, sites=2
)
PLAN = replace(DRAWN, specs=tuple(tuned(drawn_specs(DRAWN))))


@lru_cache(maxsize=32)
def _frames(cause: str | None, size: float, role: str | None = None) -> list[pd.DataFrame]:
    """The vessels' readings, all with this fault from its onset on; a heat loss is sized as cooling [K]."""
    faults: tuple[PlannedFault, ...] = ()
    if cause is not None:
        unit = DRIFTS[role][2] if role and cause == "sensor-drift" else TABLE[cause].unit
        sizes = [size * 4.2 * s.rated if cause == "heat-loss" else size for s in PLAN.specs or ()]
        faults = tuple(
            PlannedFault(k, Fault(cause, ONSET, ONSET, None, "step", own, unit, role))
            for k, own in enumerate(sizes)
        )
    return [vessel.readings for vessel in simulate(replace(PLAN, faults=faults))]


def _moves(cause: str, size: float, reading: str) -> list[float]:
    """Relative move of a reading's mean from healthy to faulty, for each vessel, while it runs; of the
    temperatures and of subcooling [K], absolute."""
    moves = []
    for healthy, faulty in zip(_frames(None, 0.0), _frames(cause, size), strict=True):
        day = np.arange(len(healthy)) * PLAN.step_minutes / 1440
        on = (day > ONSET + 0.5) & (healthy["outlet_flow"] > 0.25 * healthy["outlet_flow"].max()).to_numpy()
        before, after = (_reading(frame, reading)[on] for frame in (healthy, faulty))
        move = after.mean() - before.mean()
        absolute = reading == "subcooling" or reading.endswith("temperature")
        moves.append(float(move if absolute else move / before.mean()))
    return moves


def _reading(frame: pd.DataFrame, reading: str) -> np.ndarray:
    if reading == "subcooling":
        boiling = steam().saturation(ln_bar(frame["shell_pressure"].to_numpy()))
        return np.asarray(boiling - frame["storage_temperature"].to_numpy())
    return frame[reading].to_numpy()


@pytest.mark.parametrize(
    ("cause", "size", "reading", "low", "high"),
    [
        ("fouled-sprays", 0.4, "spray_differential", 0.2, 2.0),
        ("fouled-sprays", 0.4, "storage_temperature", -6.0, -0.03),
        ("fouled-sprays", 0.4, "outlet_oxygen", 0.2, 20.0),
        ("worn-sprays", 0.5, "spray_differential", -0.65, -0.2),
        ("worn-sprays", 0.5, "storage_temperature", -4.0, -0.02),
        ("choked-vent", 0.6, "vent_flow", -0.62, -0.58),
        ("choked-vent", 0.6, "vent_temperature", -20.0, -0.3),
        ("choked-vent", 0.6, "outlet_oxygen", 0.05, 2.0),
        ("choked-vent", 0.6, "steam_flow", -0.2, -1e-4),
        ("open-vent", 1.0, "vent_flow", 0.97, 1.03),
        ("open-vent", 1.0, "vent_temperature", 0.1, 6.0),
        ("open-vent", 1.0, "outlet_oxygen", -0.5, -0.01),
        ("open-vent", 1.0, "steam_flow", 1e-4, 0.3),
        ("steam-starvation", 0.5, "steam_valve", 0.1, 1.0),
        ("steam-starvation", 0.5, "shell_pressure", -0.6, 1e-4),
        ("tray-damage", 0.25, "outlet_oxygen", 0.4, 10.0),
        ("tray-damage", 0.25, "storage_temperature", -2.0, -0.02),
        ("tray-damage", 0.25, "spray_differential", -1e-3, 1e-3),
        ("air-in-leakage", 1.0, "inlet_oxygen", 0.99, 1.01),
        ("air-in-leakage", 1.0, "outlet_oxygen", 0.9, 1.1),
        ("air-in-leakage", 1.0, "vent_temperature", -15.0, -0.01),
        ("air-in-leakage", 1.0, "spray_differential", -1e-3, 1e-3),
        ("heat-loss", 1.0, "storage_temperature", -2.5, -0.7),
        ("heat-loss", 1.0, "steam_flow", 1e-6, 0.1),
        ("heat-loss", 1.0, "outlet_oxygen", -0.2, 0.01),
        ("heat-loss", 1.0, "vent_temperature", -0.1, 0.1),
    ],
)
def test_a_fault_moves_a_reading_the_way_physics_says(
    cause: str, size: float, reading: str, low: float, high: float
) -> None:
    for move in _moves(cause, size, reading):
        assert low <= move <= high


def test_flooded_trays_bite_at_high_load_only() -> None:
    healthy, faulty = _frames(None, 0.0), _frames("flooded-trays", 0.5)
    bitten = 0
    for before, after in zip(healthy, faulty, strict=True):
        flow = before["inlet_flow"].to_numpy()
        day = np.arange(len(before)) * PLAN.step_minutes / 1440
        rise = (after["outlet_oxygen"] / before["outlet_oxygen"]).to_numpy()
        on = (day > ONSET + 1) & (flow > 0.3 * np.nanmax(flow))
        high, low = np.nanquantile(flow[on], [0.9, 0.1])
        at_high, at_low = rise[on & (flow >= high)].mean(), rise[on & (flow <= low)].mean()
        assert at_high > at_low - 0.02
        bitten += at_high > 1.1
        assert (after["spray_differential"] - before["spray_differential"])[on].abs().max() < 1e4
    assert bitten >= 2


def test_structural_faults_act_where_the_structure_is() -> None:
    specs = PLAN.specs or ()
    for spec, move in zip(specs, _moves("vent-condenser-fouled", 0.9, "outlet_oxygen"), strict=True):
        assert move > 0.01 if spec.vent_condensing else move == 0
    for spec, move in zip(specs, _moves("hotter-drains", 25.0, "steam_flow"), strict=True):
        assert move < -1e-3 if spec.drain_share else move == 0
    assert any(spec.vent_condensing for spec in specs)
    assert any(spec.drain_share for spec in specs)


def test_a_drifting_sensor_moves_only_itself() -> None:
    role, size = "storage_temperature", 1.5
    for before, after in zip(_frames(None, 0.0), _frames("sensor-drift", size, role), strict=True):
        day = np.arange(len(before)) * PLAN.step_minutes / 1440
        assert (after[role] - before[role])[day >= ONSET].mean() == pytest.approx(size, abs=0.01)
        pd.testing.assert_frame_equal(before[day < ONSET], after[day < ONSET])
        pd.testing.assert_frame_equal(before.drop(columns=role), after.drop(columns=role))


@pytest.mark.parametrize("role", sorted(DRIFTS))
def test_a_drift_is_an_amount_or_a_share(role: str) -> None:
    clock, reading = _clock(), np.linspace(50.0, 60.0, 2400)
    low, _, unit = DRIFTS[role]
    shifted = with_sensor_fault(
        reading, Fault("sensor-drift", 20.0, 60.0, None, "ramp", low, unit, role), clock
    )
    assert (shifted[: 20 * 24] == reading[: 20 * 24]).all()
    full = shifted[-1] / reading[-1] - 1 if unit == "fraction" else shifted[-1] - reading[-1]
    assert full == pytest.approx(low)


def test_a_stuck_sensor_holds_one_value_of_its_own_transmitter() -> None:
    for role in ("outlet_oxygen", "shell_pressure"):
        stuck = Fault("sensor-stuck", 2.0, 2.0, None, "step", 0.0, "", role)
        faults = tuple(PlannedFault(k, stuck) for k in range(PLAN.vessels))
        for vessel in simulate(replace(PLAN, faults=faults, days=4)):
            shown = vessel.readings[role]
            if role == "shell_pressure" and vessel.spec.gauge_transmitters:
                # it holds its gauge reading; the barometer that makes it absolute goes on
                shown = shown - vessel.readings["barometric_pressure"]
            assert shown.iloc[2 * 24 :].std() < 1e-6
            assert shown.iloc[: 2 * 24].nunique() > 3


def _clock(days: int = 100) -> Clock:
    return Clock.of(pd.date_range("2023-01-01", periods=days * 24, freq="h", tz="UTC"), "UTC")


def test_courses_of_the_shapes() -> None:
    clock = _clock()
    ramp = Fault("choked-vent", 20.0, 60.0, 80.0, "ramp", 0.5, "fraction").course(clock)
    assert ramp[clock.day < 20].max() == 0
    assert ramp[40 * 24] == pytest.approx(0.5, abs=1e-9)
    assert (ramp[60 * 24 : 80 * 24] == 1).all()
    assert ramp[clock.day >= 80].max() == 0
    step = Fault("choked-vent", 20.0, 20.0, None, "step", 0.5, "fraction").course(clock)
    assert step.tolist() == (clock.day >= 20).astype(float).tolist()
    comes = Fault("air-in-leakage", 20.0, 20.0, None, "intermittent", 0.5, "fraction").course(clock)
    assert comes[clock.day < 20].max() == 0
    assert set(comes) == {0.0, 1.0}
    assert 0.25 < comes[clock.day >= 20].mean() < 0.75
    assert np.abs(np.diff(comes)).sum() > 10


@pytest.mark.parametrize("cause", sorted(TABLE))
def test_drawn_faults_are_within_the_table(cause: str) -> None:
    spec = drawn_specs(FleetPlan(seed=5, vessels=1))[0]
    rng = np.random.default_rng(8)
    roles = tuple(DRIFTS)
    for _ in range(50):
        fault = draw_fault(rng, cause, spec, roles, 200.0, 600.0)
        assert 200.0 <= fault.onset <= 600.0
        assert fault.full - fault.onset == 0 or 30 <= fault.full - fault.onset <= 180
        assert fault.ended is None or fault.ended >= fault.full + 30
        assert (fault.role is not None) == cause.startswith("sensor")
        if cause not in ("sensor-drift", "sensor-stuck", "heat-loss", "flooded-trays", "air-in-leakage"):
            assert TABLE[cause].low <= fault.size <= TABLE[cause].high
        if cause == "heat-loss":
            assert fault.unit == "kW"
            assert 0.29 <= fault.size / (4.2 * spec.rated) <= 2.01


def test_the_causes_are_those_that_reports_can_name() -> None:
    assert set(CAUSES) == {
        *("fouled-sprays", "worn-sprays", "choked-vent", "open-vent", "steam-starvation", "tray-damage"),
        *("flooded-trays", "air-in-leakage", "heat-loss", "sensor-drift", "sensor-stuck"),
    }
