"""A known step of -10 % hidden under weather and a quarter's daily noise: found, sized and dated by the watch itself."""

import numpy as np
import pandas as pd
import pytest

from sevenppb.detect.drift import change, innovations, watch
from sevenppb.detect.settings import DEFAULTS

FIRST = pd.Timestamp("2015-11-22")


@pytest.fixture
def meter(table):
    """Load over the baseline's mean, blackout cut; terms of weather, weekend and year with their priors; the
    baseline's rows; whitener, noise."""
    rows = table("eemeter_daily_meter.csv")
    index = FIRST + pd.to_timedelta(rows["day"], unit="D")
    early = np.asarray(index < "2016-12-26")
    load = rows["kwh"] / rows["kwh"][early].mean()
    load[np.asarray((index >= "2016-12-26") & (index <= "2017-01-04"))] = np.nan
    warm = rows["temperature"]
    year = 2 * np.pi * np.asarray(index.day_of_year) / 365.25
    columns = [np.ones(len(load)), np.maximum(60 - warm, 0) / 10, np.maximum(warm - 65, 0) / 10]
    columns += [(np.asarray(index.day_of_week) >= 5) - 2 / 7]
    columns += [wave(k * year) for k in (1, 2) for wave in (np.cos, np.sin)]
    terms, prior = np.column_stack(columns), np.array([np.inf, 1, 1, 0.3, 0.1, 0.1, 0.05, 0.05])
    noise = innovations.estimate_noise(load[early], terms[early], prior)
    white = innovations.whitener(~np.isnan(load), terms, prior, noise, np.ones(len(load)))
    return index, load, terms, int(early.sum()), white, noise


def test_the_step_is_found_sized_and_dated(meter):
    index, load, terms, start, white, noise = meter
    assert 0.2 < noise.sd < 0.3
    known = white.columns[: np.searchsorted(white.days, start)]
    heard = white.memory.innovations(load[white.days])[: len(known)]
    learned = white.spread * np.linalg.solve(known.T @ known + np.eye(known.shape[1]), known.T @ heard)
    told = change.fit(load - terms @ learned, noise.sd, noise.phi, start - 60, 0.3 * noise.sd)
    assert told.shape == "step"
    assert index[told.low] <= pd.Timestamp("2016-12-26") <= pd.Timestamp("2017-01-05") <= index[told.high]
    assert abs(index[told.onset] - pd.Timestamp("2017-01-01")) < pd.Timedelta(days=14)
    assert abs(told.size + 0.10) < 1.645 * told.size_se < 0.05


def test_the_watch_alarms_downwards_and_not_upwards(meter):
    _, load, _, start, white, _ = meter
    z = np.full(len(load), np.nan)
    z[white.days] = white(load)
    charts = watch.charts_for(DEFAULTS.false_alarms, 2, DEFAULTS.cusum_reference, DEFAULTS.ewma_weight)
    up, down = watch.chart_heights(np.column_stack([z, -z])[start:], charts).max(axis=0)
    assert down >= 1.0
    assert up < 0.8
