"""Health comes back from readings of a plant coded another way, in a few lines with iapws."""

from functools import cache

import numpy as np
import pandas as pd
import pytest
from iapws import IAPWS97

from sevenppb.detect.balance import fit, health
from sevenppb.detect.balance.model import Conditions

HOURS = 600
DESIGN_FLOW = 20.0
SUPPLY, INLET_OXYGEN = 0.6, 4000.0  # MPa, ppb


@cache
def boiling(kilopascal: float) -> float:
    return float(IAPWS97(P=kilopascal / 1e3, x=0).T) - 273.15


def conditions(seed: int = 1) -> Conditions:
    rng = np.random.default_rng(seed)
    day = np.arange(HOURS) / 24.0
    shell = np.round(136.0 + rng.standard_normal(HOURS)) * 1e3
    return Conditions(
        flow=DESIGN_FLOW * (1.0 + 0.3 * np.sin(2 * np.pi * day) + 0.03 * rng.standard_normal(HOURS)),
        inlet_temperature=70.0 + 4.0 * np.sin(2 * np.pi * day / 5.0),
        shell_pressure=shell,
        steam_pressure=np.full(HOURS, SUPPLY * 1e6),
        steam_temperature=np.full(HOURS, boiling(SUPPLY * 1e3)),
        barometer=np.full(HOURS, 101325.0),
        vent_valve=np.ones(HOURS),
        inlet_oxygen=np.full(HOURS, INLET_OXYGEN),
        drain_flow=np.zeros(HOURS),
        drain_temperature=np.full(HOURS, 100.0),
        makeup_share=np.full(HOURS, np.nan),
        scavenger_dose=np.full(HOURS, np.nan),
    )


def readings(at: Conditions, units: float = 5.0, cooling: float = 0.4, seed: int = 2) -> pd.DataFrame:
    """A plant of one cell: water closes `units` transfer units of its distance to boiling, gas is nothing
    beside the steam, storage cools by `cooling` K at the design flow, by half of the heat lost; the sprays' differential is 35 kPa at
    the design flow and goes with the flow to 1.8; a valve of linear area is 40 % open at the design."""
    load = at.flow / DESIGN_FLOW
    hot = np.array([boiling(p / 1e3) for p in at.shell_pressure])
    leaving = hot - (hot - at.inlet_temperature) * np.exp(-units)
    cold_h, leaving_h = (np.array([4.19 * t for t in part]) for part in (at.inlet_temperature, leaving))
    steam_h = IAPWS97(P=SUPPLY, x=1).h
    vented = 1.5e-3 * DESIGN_FLOW
    loss = 2 * cooling * 4.23 * DESIGN_FLOW
    steam = (at.flow * (leaving_h - cold_h) + vented * (2688.0 - leaving_h) + loss) / (steam_h - leaving_h)
    noise = np.random.default_rng(seed).standard_normal((5, HOURS))
    return pd.DataFrame(
        {
            "subcooling": hot - leaving + cooling / load + 0.05 * noise[0],
            "steam_flow": steam * (1 + 0.003 * noise[1]),
            "steam_valve": 0.4 * steam / np.median(steam) + 0.003 * noise[2],
            "outlet_oxygen": INLET_OXYGEN * np.exp(-7.0) * np.exp(0.05 * noise[3]),
            "vent_flow": vented * (at.shell_pressure / 136e3) ** 1.5,
            "spray_differential": 35e3 * load**1.8 * (1 + 0.02 * noise[4]),
        }
    )


ALL = np.ones(HOURS, dtype=bool)


@pytest.fixture(scope="module")
def fitted():
    at = conditions()
    return fit.fit_health(at, readings(at), ALL)


MEDIAN_LOAD = float(np.median(conditions().flow)) / DESIGN_FLOW  # to which the fit refers


@pytest.mark.parametrize(
    ("name", "truth", "within"),
    [
        ("spray_differential", 35e3 * MEDIAN_LOAD**1.8, 0.03),
        ("spray_exponent", 1.8, 0.05),
        ("vent_share", 1.5e-3 / MEDIAN_LOAD, 0.05),
        ("valve_curve", 1.0, 0.15),
    ],
)
def test_what_one_reading_shows_comes_back(fitted, name, truth, within):
    assert getattr(fitted.health, name) == pytest.approx(truth, rel=within)
    assert name not in fitted.undetermined


def test_transfer_and_loss_come_back_as_the_readings_see_them(fitted):
    """Sprays and trays can't be told apart by their sum, so it is the sum that comes back."""
    assert fitted.health.spray_transfer + fitted.health.tray_transfer == pytest.approx(5.0, abs=0.5)
    assert fitted.health.heat_loss == pytest.approx(0.4, abs=0.1)
    health = fitted.health
    units = health.spray_oxygen * health.spray_transfer + health.tray_oxygen * health.tray_transfer
    assert units == pytest.approx(7.0, abs=0.7)


def test_the_fitted_model_leaves_noise_over(fitted):
    at = conditions()
    off = fit.residuals(readings(at), fit.expected(at, fitted.health))
    assert abs(off["subcooling"].median()) < 0.05
    assert off["subcooling"].std() < 0.12
    assert abs(off["spray_differential"].median()) < 0.01


def test_what_no_reading_shows_stays_at_its_usual_value_and_is_named():
    at = conditions()
    found = fit.fit_health(at, readings(at)[["subcooling"]], ALL)
    usual = health.Health(1.0, 1.0, 1.0, 1.0)
    for name in ("spray_differential", "spray_exponent", "vent_line", "valve_opening", "valve_curve"):
        assert name in found.undetermined
        assert getattr(found.health, name) == pytest.approx(getattr(usual, name), rel=1e-3)
    assert "heat_loss" not in found.undetermined


@pytest.mark.parametrize("scatter", [0.0, 0.03])
@pytest.mark.parametrize("scale", [0.92, 1.08])
def test_no_steam_meter_weighs_the_vent(scale, scatter):
    """A meter's scale, or inflow without one, is in all hours: many times the vent's steam, and no vent. Nor does a
    restless meter, which a model far off would make seem the quieter one."""
    at = conditions()
    off = readings(at)[["subcooling", "steam_flow", "steam_valve", "spray_differential"]]
    off["steam_flow"] *= scale * (1.0 + scatter * np.random.default_rng(3).standard_normal(HOURS))
    found = fit.fit_health(at, off, ALL)
    usual = health.Health(1.0, 1.0, 1.0, 1.0).vent_share
    assert abs(np.log(found.health.vent_share / usual)) < 0.8
    assert found.error["vent_share"] > 0.45  # a logarithm: to a factor of 1.6 at best


def test_odd_hours_do_not_steer_the_fit(fitted):
    at = conditions()
    odd = readings(at)
    odd.loc[::25, "spray_differential"] *= 3.0
    odd.loc[::25, "subcooling"] += 15.0
    found = fit.fit_health(at, odd, ALL).health
    assert found.spray_differential == pytest.approx(fitted.health.spray_differential, rel=0.05)
    assert found.heat_loss == pytest.approx(fitted.health.heat_loss, abs=0.15)


def test_hours_outside_the_baseline_are_not_looked_at(fitted):
    at = conditions()
    sick = readings(at)
    rows = np.arange(HOURS) < HOURS // 2
    sick.loc[~rows] *= 2.0
    found = fit.fit_health(at, sick, rows).health
    assert found.spray_differential == pytest.approx(fitted.health.spray_differential, rel=0.03)


def test_missing_readings_count_as_nothing():
    at = conditions()
    holes = readings(at)
    holes.loc[::3, "outlet_oxygen"] = np.nan
    found = fit.fit_health(at, holes, ALL).health
    assert np.isfinite([found.spray_oxygen, found.tray_oxygen, found.heat_loss]).all()


def test_draws_spread_about_the_fit_within_bounds(fitted):
    low = {name: bounds for name, _, *bounds in health.FITTED}
    for name, (least, most) in low.items():
        drawn = np.asarray(getattr(fitted.draws, name))
        assert drawn.shape == (fit.DRAWS, 1)
        assert np.all((drawn >= least * (1 - 1e-9)) & (drawn <= most * (1 + 1e-9)))
        assert np.ptp(drawn) > 0
    # what the readings show well is drawn more narrowly than what they don't
    spread = {n: float(np.std(np.log(getattr(fitted.draws, n)))) for n in ("spray_differential", "vent_line")}
    assert spread["spray_differential"] < 0.5 * spread["vent_line"]


def test_the_same_readings_give_the_same_health(fitted):
    at = conditions()
    again = fit.fit_health(at, readings(at), ALL)
    assert again.health == fitted.health
    np.testing.assert_array_equal(again.draws.heat_loss, fitted.draws.heat_loss)
