"""A known step of -10 % hidden under weather and a fifth's daily noise, in four meters: found by the watch, and sized
and dated with intervals that hold."""

import numpy as np
import pandas as pd
import pytest
from scipy.optimize import nnls

from sevenppb.detect.drift import change, innovations, watch
from sevenppb.detect.settings import DEFAULTS

FIRST = pd.Timestamp("2015-11-22")
BEGIN, END = (
    pd.Timestamp("2016-12-26"),
    pd.Timestamp("2017-01-04"),
)  # of the blackout: the load is less from then on
METERS = ("electricity_both", "electricity_cooling", "gas_heating", "gas_base")
EARLY = pd.Timedelta(days=60)  # before the blackout, from which a change is looked for


@pytest.fixture(scope="module")
def meters(request):
    rows = pd.read_csv(request.path.with_name("eemeter_daily_meters.csv"), comment="#")
    rows.index = FIRST + pd.to_timedelta(rows["day"], unit="D")
    return rows


def watched(rows, meter):
    """As the scan does it: what degree days expect, fitted on the baseline; on the logarithm what they leave over, with
    terms of weekend and year; noise, innovations and a chart for each direction, from the blackout on. Gives noise,
    heights, and the series less what the baseline taught of the terms."""
    index = rows.index
    early = np.asarray(index < BEGIN)
    load = rows[meter].to_numpy()
    causes = np.column_stack([np.ones(len(rows)), rows["heating"], rows["cooling"]])
    expected = causes @ weighted(causes[early], load[early])
    y = np.where((index >= BEGIN) & (index <= END), np.nan, np.log(load / expected))
    year = 2 * np.pi * np.asarray(index.day_of_year) / 365.25
    waves = [wave(k * year) for k in (1, 2) for wave in (np.cos, np.sin)]
    terms = np.column_stack([np.ones(len(y)), (np.asarray(index.day_of_week) >= 5) - 2 / 7, *waves])
    prior = np.array([np.inf, 0.05, 0.05, 0.05, 0.025, 0.025])
    noise = innovations.estimate_noise(y[early], terms[early], prior)
    white = innovations.whitener(~np.isnan(y), terms, prior, noise, np.ones(len(y)))
    z = np.full(len(y), np.nan)
    z[white.days] = white(y)
    both = np.column_stack([z, -z])
    charts = watch.charts_for(DEFAULTS.false_alarms, 2, DEFAULTS.cusum_reference, DEFAULTS.ewma_weight)
    charts = charts.raised(watch.checked(charts, both[early], DEFAULTS.false_alarms))
    heights = watch.chart_heights(both[~early], charts)
    taught = white.columns[: np.searchsorted(white.days, early.sum())]
    heard = white.memory.innovations(y[white.days])[: len(taught)]
    gram = taught.T @ taught + np.eye(taught.shape[1])
    return noise, heights, y - terms @ (white.spread * np.linalg.solve(gram, taught.T @ heard))


def weighted(causes, load):
    """Loads of base, heating and cooling, none below zero, each day weighing what its own size says."""
    weight = np.ones(len(load))
    for _ in range(5):
        size = nnls(causes * weight[:, None], load * weight)[0]
        weight = 1 / np.maximum(causes @ size, 1e-6)
    return size


@pytest.mark.parametrize("meter", METERS)
def test_the_step_is_found_sized_and_dated(meters, meter):
    noise, heights, rest = watched(meters, meter)
    assert 0.18 < noise.sd < 0.25
    up, down = heights[:, 0], heights[:, 1]
    first = meters.index[meters.index >= BEGIN][np.argmax(down >= 1)]
    assert down.max() >= 1
    assert first - END < pd.Timedelta(days=110)
    assert up.max() < 0.8
    start = int(np.searchsorted(meters.index, BEGIN - EARLY))
    told = change.fit(rest, noise.sd, noise.phi, start, 0.3 * noise.sd)
    assert told.shape == "step"
    assert meters.index[told.low] <= END + pd.Timedelta(days=1)
    assert meters.index[told.high] >= BEGIN
    assert abs(told.size - np.log(0.9)) < 1.645 * told.size_se < 0.05
