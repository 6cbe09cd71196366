"""A fleet's seasons as a prior: as wide as vessels differ, moved by no single one, and never by what came later."""

import numpy as np
import pandas as pd
import pytest
from scipy.signal import lfilter

from sevenppb.detect.drift import innovations, watch
from sevenppb.detect.drift.innovations import Noise
from sevenppb.detect.seasonal import pool, terms
from sevenppb.detect.seasonal.lent import Effect, Lent
from sevenppb.detect.settings import DEFAULTS

STATED = terms.YEARLY_PRIOR[0]
END = pd.Timestamp("2024-05-01", tz="UTC")
START = END - pd.Timedelta(days=120)


def lenders(values, error=0.03, known=START, feature="subcooling"):
    """One a row of four coefficients, in natural moves."""
    return tuple(
        Lent(f"DA-{k}", known, (Effect(feature, tuple(row), (error,) * 4),)) for k, row in enumerate(values)
    )


@pytest.mark.parametrize("count", [3, 5, 10])
def test_the_next_vessels_season_lies_in_its_interval_as_often_as_it_says(count):
    """Fleets that share anything from nothing to nearly all of their seasons, any share as likely."""
    rng = np.random.default_rng(count)
    inside = []
    for _ in range(400):
        share = rng.uniform(0, 1)
        common = STATED * np.sqrt(share) * rng.standard_normal()
        truth = common + STATED * np.sqrt(1 - share) * rng.standard_normal(count + 1)
        error = rng.uniform(0.02, 0.1, count)
        mean, sd = pool.next_one(truth[:-1] + error * rng.standard_normal(count), error, STATED)
        inside.append(abs(truth[-1] - mean) < 1.645 * sd)
    assert 0.86 <= np.mean(inside) <= 0.96


def test_vessels_that_agree_narrow_the_prior_and_those_that_differ_leave_it():
    error = np.full(6, 0.02)
    mean, sd = pool.next_one(np.array([0.28, 0.31, 0.30, 0.29, 0.33, 0.30]), error, STATED)
    assert mean == pytest.approx(0.3, abs=0.02)
    assert sd < 0.5 * STATED
    mean, sd = pool.next_one(np.array([-0.4, 0.3, -0.2, 0.45, -0.3, 0.2]), error, STATED)
    assert abs(mean) < 0.1
    assert sd > 0.9 * STATED


def test_more_lenders_that_differ_a_little_are_never_taken_for_equal():
    """The spread between vessels, here 0.1, stays however many there are."""
    rng = np.random.default_rng(1)
    for count in (5, 20, 80):
        values = 0.2 + 0.1 * rng.standard_normal(count)
        _, sd = pool.next_one(values, np.full(count, 0.02), STATED)
        assert 0.85 * np.std(values) < sd <= STATED


def test_one_vessels_fault_moves_nobody_elses_expectation():
    values = np.array([0.02, -0.03, 0.01, 0.04, -0.02])
    error = np.full(5, 0.02)
    mean, _ = pool.next_one(values, error, STATED)
    wild = np.append(values[:4], values[4] + 4 * STATED)
    sick, _ = pool.next_one(wild, error, STATED)
    assert abs(sick - mean) < 0.2 * STATED


def test_values_without_worth_leave_the_stated_prior():
    mean, sd = pool.next_one(np.array([3.0, -2.0, 4.0]), np.full(3, 50.0), STATED)
    assert mean == pytest.approx(0.0, abs=0.01)
    assert sd == pytest.approx(STATED, rel=0.01)


def test_fewer_than_three_lenders_lend_nothing():
    values = np.full((3, 4), 0.1)
    assert pool.pooled(lenders(values[:2])) == {}
    season = pool.pooled(lenders(values))["subcooling"]
    assert season.mean.shape == season.sd.shape == (4,)
    assert np.all(season.sd <= terms.YEARLY_PRIOR)


def test_only_what_was_settled_when_the_baseline_ended_counts():
    now, later = (
        lenders(np.zeros((1, 4)), known=END)[0],
        lenders(np.zeros((1, 4)), known=END + pd.Timedelta(days=1))[0],
    )
    assert pool.known((now, later), (START, END)) == (now,)
    assert pool.known((now, later), (END - pd.Timedelta(days=365), END)) == ()


DAYS, BASELINE = 365, 120  # from 1 January: a winter, then the first summer


def columns():
    year = 2 * np.pi * np.arange(DAYS) / 365.25
    return np.column_stack([np.ones(DAYS), *(wave(k * year) for k in (1, 2) for wave in (np.cos, np.sin))])


def first_summer(size, mean, sd, seed):
    """The highest chart of a residual (natural move 0.5, noise 0.1 that remembers) whose yearly swing is `size`
    natural moves, and the standard error of what is expected in July as known at the end of the baseline."""
    natural, noise = 0.5, Noise(0.1, 0.5)
    prior = np.append(np.inf, natural * np.asarray(sd))
    white = innovations.whitener(np.ones(DAYS, dtype=bool), columns(), prior, noise, np.ones(DAYS))
    fresh = np.random.default_rng(seed).standard_normal(DAYS + 50) * np.sqrt(1 - 0.5**2)
    swing = natural * size * columns()[:, 1]
    series = (
        swing
        - columns()[:, 1:] @ (natural * np.asarray(mean))
        + 0.1 * lfilter([1.0], [1.0, -0.5], fresh)[50:]
    )
    charts = watch.charts_for(DEFAULTS.false_alarms, 2.0, DEFAULTS.cusum_reference, DEFAULTS.ewma_weight)
    height = watch.chart_heights(white(series)[:, None] * np.array([1.0, -1.0]), charts)[BASELINE:].max()
    known = white.columns[:BASELINE]
    covariance = np.linalg.inv(known.T @ known + np.eye(5))
    july = columns()[195] * white.spread
    return height, float(np.sqrt(july @ covariance @ july))


def alarms(size, season):
    mean, sd = (np.zeros(4), np.array(terms.YEARLY_PRIOR)) if season is None else (season.mean, season.sd)
    found = [first_summer(size + 0.05 * np.sin(seed), mean, sd, seed) for seed in range(30)]
    return sum(height >= 1.0 for height, _ in found), found[0][1]


def test_a_swing_that_all_have_raises_fewer_alarms_and_july_is_known_better():
    rng = np.random.default_rng(3)
    values = np.array([0.8, 0.0, 0.0, 0.0]) + 0.05 * rng.standard_normal((6, 4))
    alone, wide = alarms(0.8, None)
    borrowed, narrow = alarms(0.8, pool.pooled(lenders(values))["subcooling"])
    assert alone >= 10
    assert borrowed <= 1
    assert narrow < 0.6 * wide


def test_vessels_that_differ_do_no_harm():
    rng = np.random.default_rng(4)
    values = 0.25 * rng.standard_normal((6, 4))
    alone, wide = alarms(0.2, None)
    borrowed, narrow = alarms(0.2, pool.pooled(lenders(values))["subcooling"])
    assert borrowed <= alone + 1
    assert narrow <= wide
