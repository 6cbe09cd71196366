"""What the balance may leave over: scaled by the baseline alone, and a first summer that is no alarm."""

import numpy as np
import pandas as pd
import pytest
from scipy.signal import lfilter

from sevenppb.detect.balance.model import Conditions
from sevenppb.detect.drift import innovations, watch
from sevenppb.detect.drift.innovations import Noise
from sevenppb.detect.seasonal import terms
from sevenppb.detect.settings import DEFAULTS

DAYS, BASELINE = 365, 90  # from 1 January
INDEX = pd.date_range("2025-01-01", periods=24 * DAYS, freq="h", tz="UTC")


def conditions() -> Conditions:
    rng = np.random.default_rng(1)
    n = len(INDEX)
    day = np.arange(n) / 24.0
    return Conditions(
        flow=20.0 * np.exp(0.2 * np.sin(2 * np.pi * day) + 0.05 * rng.standard_normal(n)),
        inlet_temperature=70.0 - 5.0 * np.cos(2 * np.pi * day / 365.25) + rng.standard_normal(n),
        shell_pressure=1.36e5 + 300.0 * rng.standard_normal(n),
        steam_pressure=6e5 * np.exp(0.02 * rng.standard_normal(n)),
        steam_temperature=np.full(n, 170.0),
        barometer=101325.0 + 800.0 * rng.standard_normal(n),
        vent_valve=np.ones(n),
        inlet_oxygen=np.full(n, np.nan),
        drain_flow=np.zeros(n),
        drain_temperature=np.full(n, 100.0),
        makeup_share=np.full(n, np.nan),
        scavenger_dose=np.full(n, np.nan),
    )


BASELINE_HOURS = np.arange(len(INDEX)) < 24 * BASELINE


@pytest.fixture(scope="module")
def found():
    return terms.terms_of(INDEX, conditions(), BASELINE_HOURS)


def column(found, name):
    return found.columns[:, found.names.index(name)]


def test_names_columns_and_priors_belong_together(found):
    assert len(found.names) == len(set(found.names)) == found.columns.shape[1] == len(found.prior)
    assert found.names[0] == "constant"
    assert np.isinf(found.prior[0])
    assert np.all(np.isfinite(found.prior[1:]) & (found.prior[1:] > 0))
    assert np.isfinite(found.columns).all()


def test_operating_terms_are_counted_in_what_the_baseline_saw_or_in_a_usual_range(found):
    at = conditions()
    for driver, values in ((terms.LOAD, np.log(at.flow)), (terms.BAROMETER, at.barometer / 1000)):
        inside = column(found, driver.name)[BASELINE_HOURS]
        assert abs(np.median(inside)) < 1e-9
        saw = values[BASELINE_HOURS].std()
        assert inside.std() == pytest.approx(saw / max(saw, driver.smallest), rel=1e-6)
    assert column(found, "load")[BASELINE_HOURS].std() == pytest.approx(1.0, rel=1e-6)


def test_a_pressure_held_still_explains_no_drift_of_its_own_reading(found):
    """5 kPa more are few hundredths of the pressure, however still the controller held it before."""
    off = conditions()
    later = ~BASELINE_HOURS
    off.shell_pressure[later] += 5e3
    moved = terms.terms_of(INDEX, off, BASELINE_HOURS)
    own = [k for k, driver in enumerate(moved.drivers) if driver == terms.SHELL]
    granted = np.sqrt(((moved.columns[later][:, own] * moved.prior[own]) ** 2).sum(axis=1))
    assert 0.1 < granted.mean() < 0.6  # of a natural move


def test_pressure_explains_no_subcooling_which_is_made_of_it():
    """Held still, its readings' noise stands on both sides: 2.5 K of subcooling seem to follow 10 % of pressure, and a new
    set point would be a fault."""
    at = conditions()
    at.inlet_temperature[:] = 70.0  # not recorded: the approach, too, is then nothing but the pressure
    found = terms.terms_of(INDEX, at, BASELINE_HOURS)
    assert "approach" not in found.names
    made_of_pressure = [d for d in found.drivers if d in (terms.SHELL, terms.SUPPLY)]
    assert made_of_pressure
    assert not any(d.explains("storage_temperature") for d in made_of_pressure)
    assert terms.SHELL.explains("steam_flow")
    assert not terms.SUPPLY.explains("steam_pressure")


def test_what_does_not_vary_or_is_not_read_has_no_term(found):
    assert not [name for name in found.names if name.startswith(("vent valve", "inlet oxygen"))]


def test_beyond_is_nothing_inside_the_baselines_range_and_grows_outside(found):
    warm = column(found, "approach beyond below")  # summer water is nearer to boiling
    assert (warm[BASELINE_HOURS] > 0).mean() <= 0.021
    summer = slice(24 * 170, 24 * 200)
    assert (warm[summer] > 0).mean() > 0.9
    assert warm[summer].mean() > 3 * column(found, "approach beyond above")[summer].mean()


def test_later_hours_change_nothing_in_the_baseline(found):
    wild = conditions()
    later = ~BASELINE_HOURS
    wild.flow[later] *= 3.0
    wild.inlet_temperature[later] -= 30.0
    again = terms.terms_of(INDEX, wild, BASELINE_HOURS)
    assert again.names == found.names
    np.testing.assert_array_equal(again.columns[BASELINE_HOURS], found.columns[BASELINE_HOURS])


def test_an_hour_without_load_is_not_judged_but_one_without_barometer_is():
    holes = conditions()
    holes.flow[100] = np.nan
    holes.barometer[200] = np.nan
    found = terms.terms_of(INDEX, holes, BASELINE_HOURS)
    assert np.isnan(column(found, "load")[100])
    assert column(found, "barometer")[200] == 0.0
    assert np.isfinite(found.columns[200]).all()


def test_curvature_in_load_is_no_straight_line(found):
    """So that a straight line stays with the term that is named after it."""
    line = np.column_stack([np.ones(BASELINE_HOURS.sum()), column(found, "load")[BASELINE_HOURS]])
    for k in (1, 2):
        bend = column(found, f"load bend {k}")[BASELINE_HOURS]
        assert abs(line.T @ bend / len(bend)).max() < 1e-6
        assert bend.std() == pytest.approx(1.0, rel=1e-6)


def test_rhythms_repeat(found):
    day, week = column(found, "day cos 1"), column(found, "weekend")
    np.testing.assert_allclose(day[24:], day[:-24], atol=1e-12)
    np.testing.assert_allclose(week[168:], week[:-168], atol=1e-12)
    assert week.mean() == pytest.approx(0.0, abs=0.01)
    year = column(found, "year cos 1")
    assert year[: 24 * 20].min() > 0.9
    assert year[24 * 175 : 24 * 190].max() < -0.9


def watched_to_the_end(found, drop=()):
    """The highest chart after a winter's baseline of a residual with a season of 0.12 K over 0.1 K of noise
    that remembers, where the yearly terms allow 0.125 K."""
    natural, noise = 0.5, Noise(0.1, 0.5)
    kept = [k for k, name in enumerate(found.names) if not name.startswith(tuple(drop) or ("nothing",))]
    daily = found.columns[:, kept].reshape(DAYS, 24, -1).mean(axis=1)
    prior = natural * found.prior[kept]
    white = innovations.whitener(np.ones(DAYS, dtype=bool), daily, prior, noise, np.ones(DAYS))
    fresh = np.random.default_rng(4).standard_normal(DAYS + 50) * np.sqrt(1 - 0.5**2)
    season = -0.12 * np.cos(2 * np.pi * np.arange(DAYS) / 365.25)
    series = season + 0.1 * lfilter([1.0], [1.0, -0.5], fresh)[50:]
    directions = np.array([[1.0], [-1.0]])
    shared = watch.effective_directions(directions)
    charts = watch.charts_for(DEFAULTS.false_alarms, shared, DEFAULTS.cusum_reference, DEFAULTS.ewma_weight)
    score = white(series)[:, None] * directions.T
    return watch.chart_heights(score[BASELINE:], charts).max()


def test_a_first_summer_after_a_winters_baseline_is_no_alarm(found):
    assert watched_to_the_end(found) < 1.0


def test_it_would_be_one_without_yearly_terms(found):
    assert watched_to_the_end(found, drop=("year", "approach")) >= 1.0
