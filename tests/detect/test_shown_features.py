"""Closures, vent loss and oxygen against equilibrium on readings whose truth is worked out with iapws."""

import dataclasses

import numpy as np
import pandas as pd
import pytest
from iapws import IAPWS97

from sevenppb.detect import features, shown, streams, vent
from sevenppb.detect.fleet import Vessel
from sevenppb.detect.roles import ROLES

HOURS = pd.date_range("2025-01-01", periods=24, freq="h", tz="UTC")
BAROMETER = pd.Series(1.0e5, index=HOURS)
VESSEL = Vessel("DA-1", (), "auto", {}, None, None, 1.0e5, None, {}, ())


@pytest.fixture(name="readings")
def a_day(heated):
    return heated(HOURS)


def test_a_consistent_balance_closes(readings):
    found = shown.shown(readings, BAROMETER, VESSEL)
    assert np.all(np.abs(found["heat_closure"]) < 1e-5)
    assert np.all(np.abs(found["mass_closure"]) < 1e-9)
    np.testing.assert_allclose(found["vent_by_balance"], 0.02, atol=3e-5)
    np.testing.assert_allclose(found["steam_to_shell"], 0.8e6)
    np.testing.assert_allclose(found["vent_warmth"], 1.0, atol=1e-6)
    np.testing.assert_allclose(found["stripping_units"], np.log(1000.0))


def test_closures_also_hold_without_the_inlet_flow(readings):
    """The water that isn't metered follows from the mass balance."""
    found = shown.shown(readings.drop(columns="inlet_flow"), BAROMETER, VESSEL)
    # usual vent and loss are shares of the outlet flow, then: a tenth more than of the inlet's
    assert np.all(np.abs(found["heat_closure"]) < 2e-3)
    assert "mass_closure" not in found


def test_more_steam_than_needed_reads_as_a_deficit(readings):
    readings["steam_flow"] *= 1.25
    found = shown.shown(readings, BAROMETER, VESSEL)
    np.testing.assert_allclose(found["heat_closure"], -0.2, atol=1e-5)


@pytest.mark.parametrize("name", ["subcooling", "heat_closure", "mass_closure", "vent_by_balance"])
def test_uncertainties_are_those_of_instruments_that_err_as_stated(name, readings):
    """Monte-Carlo through the whole chain: the instruments' errors, then everything from the readings."""
    rng = np.random.default_rng(5)
    n = 4000
    truth = pd.concat([readings.iloc[:1]] * n)
    truth.index = pd.date_range("2025-01-01", periods=n, freq="h", tz="UTC")
    truth["barometric_pressure"] = 1.0e5
    readings = truth.copy()
    for role in truth:
        row = ROLES[role]
        sd = row.accuracy * truth[role] if row.relative else row.accuracy
        readings[role] += rng.standard_normal(n) * sd
    air = pd.Series(1.0e5, index=readings.index)
    stated = shown.shown(truth, air, VESSEL)[f"{name}_sd"].iloc[0]
    spread = features.observed(readings, air, VESSEL)[name].std()
    # vent and heat loss don't err here, but their stated doubt counts: 0.1 % and 0.3 K of 20 kg/s, half of the loss
    loss, vented = 2 * 0.3 * 4230.0 * 20.0, 0.02 * 2.2e6  # W
    assumed = {
        "subcooling": 0.0,
        "heat_closure": np.hypot(loss, vented) / (2.32e6 * truth["steam_flow"].iloc[0]),
        "mass_closure": 0.02,
        "vent_by_balance": loss / 2.2e6,
    }[name]
    assert abs(np.hypot(spread, assumed) / stated - 1.0) < 0.05


def test_weather_counts_where_no_barometer_is_recorded(readings):
    without = shown.shown(readings, BAROMETER, VESSEL)["subcooling_sd"].iloc[0]
    readings["barometric_pressure"] = BAROMETER
    recorded = shown.shown(readings, BAROMETER, VESSEL)["subcooling_sd"].iloc[0]
    # near 2 bar saturation rises by 1 K in about 6.2 kPa
    assert abs(np.sqrt(without**2 - recorded**2) - 800.0 / 6200.0) < 0.005


def test_oxygen_against_the_ceiling_that_subcooling_allows(readings):
    """A table computed with an independent code: at 5 psig, 0.5 K of air-rich subcooling holds 123 ppb when
    the gas is dry air; of gas that came out of water, richer in oxygen, it holds 123 / (0.20946 * 2.877)."""
    shell = 0.13580e6
    readings = pd.DataFrame(
        {
            "shell_pressure": shell,
            "storage_temperature": IAPWS97(P=shell / 1e6, x=0).T - 273.15 - 0.5,
            "outlet_oxygen": 7.0,
            "barometric_pressure": 1.0e5,
        },
        index=HOURS,
    )
    found = shown.shown(readings, BAROMETER, VESSEL)
    np.testing.assert_allclose(found["oxygen_over_equilibrium"], 7.0 / (123.0 / (0.20946 * 2.877)), rtol=6e-3)
    readings["storage_temperature"] += 0.3  # within the instruments' doubt
    assert "oxygen_over_equilibrium" not in shown.shown(readings, BAROMETER, VESSEL)


def test_missing_readings_give_nothing_in_their_hour_only(readings):
    for role in ("steam_flow", "storage_temperature", "outlet_oxygen", "vent_temperature"):
        holed = readings.copy()
        holed.iloc[3, holed.columns.get_loc(role)] = np.nan
        before, after = (shown.shown(r, BAROMETER, VESSEL) for r in (readings, holed))
        assert list(before) == list(after)
        pd.testing.assert_frame_equal(before.drop(HOURS[3]), after.drop(HOURS[3]))
    holed = readings.assign(steam_flow=0.0)
    assert "heat_closure" not in shown.shown(holed, BAROMETER, VESSEL)


def test_two_roles_are_enough_to_say_little(readings):
    found = shown.shown(readings[["shell_pressure", "storage_temperature"]], BAROMETER, VESSEL)
    assert list(found) == ["subcooling_sd", "storage_temperature", "shell_over_air"]
    assert list(found["shell_over_air"]) == list(readings["shell_pressure"] - BAROMETER)


def test_every_shown_column_stands_in_the_table(readings):
    bored = dataclasses.replace(VESSEL, vent_bore=0.012)
    readings = readings.assign(vent_flow=0.02, spray_differential=3e4)
    assert set(shown.shown(readings, BAROMETER, bored)) == set(shown.SHOWN) - {"spray_openness"}


def test_make_up_beside_the_inlet_or_in_it_is_told_by_mass(readings):
    assert not streams.makeup_is_separate(readings.assign(makeup_flow=5.0))
    beside = readings.assign(
        makeup_flow=5.0, inlet_flow=readings["inlet_flow"] - 5.0, makeup_temperature=85.0
    )
    assert streams.makeup_is_separate(beside)
    found = shown.shown(beside, BAROMETER, VESSEL)
    assert np.all(np.abs(found["mass_closure"]) < 1e-9)
    assert np.all(np.abs(found["heat_closure"]) < 1e-5)


class TestVent:
    def test_orifice_by_hand(self, readings):
        """12 mm at 5 psig: 191.6 kg/(s m2) by isentropic equilibrium flow, a discharge of 0.6."""
        readings = readings.assign(shell_pressure=0.13580e6)
        air = np.full(len(readings), 101325.0)
        flow, sd = vent.by_orifice(readings.drop(columns="vent_temperature"), air, 0.012)
        np.testing.assert_allclose(flow, 0.6 * np.pi / 4.0 * 0.012**2 * 191.6, rtol=1e-3)
        assert np.all((sd > 0.15 * flow) & (sd < 0.16 * flow))

    def test_half_open_valve_passes_half(self, readings):
        air = BAROMETER.to_numpy()
        whole, _ = vent.by_orifice(readings, air, 0.012)
        half, _ = vent.by_orifice(readings.assign(vent_valve=0.5), air, 0.012)
        np.testing.assert_allclose(half, 0.5 * whole)

    def test_a_cold_line_makes_the_bore_doubtful(self, readings):
        air = BAROMETER.to_numpy()
        warm_flow, warm_sd = vent.by_orifice(readings, air, 0.012)
        cold_flow, cold_sd = vent.by_orifice(readings.assign(vent_temperature=20.0), air, 0.012)
        np.testing.assert_allclose(cold_flow, warm_flow)
        assert np.all(warm_sd < 0.16 * warm_flow)
        assert np.all(cold_sd > cold_flow)

    def test_the_more_certain_answer_prevails(self):
        sure, vague = (np.array([0.02]), np.array([0.002])), (np.array([0.32]), np.array([0.2]))
        value, sd = vent.combined([sure, vague])
        weights = np.array([1 / 0.002**2, 1 / 0.2**2])
        np.testing.assert_allclose(value, weights @ [0.02, 0.32] / weights.sum())
        assert abs(value[0] - 0.02) < 1e-4
        # widened, as the answers differ by 1.5 standard deviations
        np.testing.assert_allclose(sd, np.sqrt(2.25 / weights.sum()), rtol=1e-3)

    def test_agreeing_answers_are_surer_than_each(self):
        one, two = (np.array([0.020]), np.array([0.004])), (np.array([0.022]), np.array([0.004]))
        value, sd = vent.combined([one, two])
        np.testing.assert_allclose(value, 0.021)
        np.testing.assert_allclose(sd, 0.004 / np.sqrt(2.0))

    def test_an_answer_that_is_none_has_no_say(self):
        some = np.array([0.02, np.nan]), np.array([0.002, 0.002])
        none = np.array([np.nan, np.nan]), np.array([0.1, 0.1])
        value, sd = vent.combined([some, none])
        np.testing.assert_array_equal(value, [0.02, np.nan])
        np.testing.assert_allclose(sd, [0.002, np.nan])

    def test_a_clogged_meter_less_vessel_leans_on_the_bore_not_on_the_balance(self, readings):
        bored = dataclasses.replace(VESSEL, vent_bore=0.012)
        readings["steam_flow"] *= 1.02  # a steam meter 2 % high: 0.03 kg/s that look like vent
        found = shown.shown(readings, BAROMETER, bored)
        assert np.all(found["vent_by_balance"] - 0.02 > 0.02)
        assert np.all(np.abs(found["vent_loss"] / found["vent_by_orifice"] - 1.0) < 0.15)
