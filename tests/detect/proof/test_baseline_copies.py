"""Copies of a baseline: the baseline itself, then its weeks, at their days of the week and times of year."""

import numpy as np
import pandas as pd
import pytest

from sevenppb.detect.fleet import Vessel
from sevenppb.detect.proof import copies
from sevenppb.detect.proof.copies import Original
from sevenppb.detect.quality.readings import Readings

START = pd.Timestamp("2024-03-04", tz="UTC")
DAY = pd.Timedelta(days=1)


def original(days: int) -> Original:
    """A vessel whose shell pressure reads the day it was read on, and an hour is missing."""
    index = pd.date_range(START, periods=24 * (days + 50), freq="h")
    hourly = pd.DataFrame({"shell_pressure": np.arange(len(index)) // 24, "level": 0.5}, index=index)
    hourly = hourly.drop(index[30])
    readings = Readings("DA-1", hourly, hourly, hourly, pd.DataFrame(), 0, ("a note",))
    vessel = Vessel("DA-1", (), "auto", {}, None, None, 101325.0, None, {}, ())
    return copies.original(vessel, readings, START, START + days * DAY)


def sources(whole: Original, seed: int) -> np.ndarray:
    """The baseline's day that each day of a copy of 200 more days was taken from."""
    made = copies.copied(whole, 200, np.random.default_rng(seed))
    assert len(made.hourly) == 24 * (whole.days + 200)
    assert (made.hourly.index[1:] - made.hourly.index[:-1] == pd.Timedelta(hours=1)).all()
    return made.hourly["shell_pressure"].to_numpy()[::24].astype(int)


@pytest.mark.parametrize("days", [40, 120, 365])
def test_the_baseline_comes_first_as_it_was(days: int) -> None:
    whole = original(days)
    made = copies.copied(whole, 50, np.random.default_rng(1)).hourly
    pd.testing.assert_frame_equal(made.iloc[: 24 * days], whole.readings.hourly, check_freq=False)
    assert made["level"].iloc[:24].notna().all()
    assert np.isnan(made["level"].iloc[30])


@pytest.mark.parametrize("days", [40, 120, 365])
def test_later_days_are_the_baselines_own_on_the_same_weekday(days: int) -> None:
    whole = original(days)
    source = sources(whole, 1)
    assert source.max() < days
    assert ((np.arange(len(source)) - source) % 7 == 0).all()
    assert (np.diff(source[days:]).reshape(-1)[:6] == 1).all()  # a week stays a week


def test_a_whole_year_lends_the_same_time_of_year() -> None:
    whole = original(365)
    source = sources(whole, 2)
    apart = (np.arange(len(source)) - source)[365:]
    apart = abs((apart + 182.6) % 365.25 - 182.6)
    assert apart.max() <= copies.SEASON + copies.BLOCK


def test_draws_differ_by_seed_and_repeat_with_it() -> None:
    whole = original(120)
    assert (sources(whole, 1) == sources(whole, 1)).all()
    assert (sources(whole, 1) != sources(whole, 2)).any()


def test_the_vessel_of_a_copy_has_that_baseline_and_no_work() -> None:
    whole = original(90)
    assert whole.vessel.baseline == (START, START + 89 * DAY)
    assert whole.vessel.work == ()
    assert copies.copied(whole, 10, np.random.default_rng(0)).notes == ()
