"""Every rival, in a small case: a tag that leaves what load and weather explain gets a higher score."""

from importlib import import_module

import numpy as np
import pandas as pd
import pytest

from benchmarks.quality.rivals import daily, table

START = pd.Timestamp("2024-01-01", tz="UTC")
UNTIL = START + pd.Timedelta(days=90)
NEEDS = {"ecod": "pyod", "matrix_profile": "stumpy", "change_points": "ruptures"}
SLOW = {"matrix_profile", "always_on"}  # has a test of its own; has nothing to see


def hours(shift: float) -> pd.DataFrame:
    """150 days of a load, and of tags that follow it with noise; one moves by `shift` from day 110 on."""
    rng = np.random.default_rng(1)
    index = pd.date_range(START, periods=24 * 150, freq="h")
    day = np.arange(len(index)) / 24
    load = 50 + 8 * np.sin(2 * np.pi * day) + 6 * np.sin(2 * np.pi * day / 9) + rng.normal(0, 1, len(index))
    wander = np.repeat(rng.normal(0, 0.3, 150), 24)
    moved = np.where(day >= 110, shift, 0.0)
    tags = {
        "inlet_flow": load,
        "inlet_temperature": 70 + 4 * np.sin(2 * np.pi * day / 21) + rng.normal(0, 0.5, len(index)),
        "storage_temperature": 110 - 0.05 * load + wander + rng.normal(0, 0.3, len(index)) + moved,
        "steam_flow": 0.1 * load * np.exp(rng.normal(0, 0.01, len(index))),
    }
    return pd.DataFrame(tags, index=index)


@pytest.mark.filterwarnings("ignore")  # of other people's libraries
@pytest.mark.parametrize("module", [m for m in table.RIVALS.values() if m not in SLOW])
def test_a_shift_is_seen(module: str) -> None:
    if module in NEEDS:
        pytest.importorskip(NEEDS[module])
    rival = import_module(f"benchmarks.quality.rivals.{module}")
    with_shift, without = rival.alarms(hours(3.0), UNTIL), rival.alarms(hours(0.0), UNTIL)
    late = with_shift.index >= START + pd.Timedelta(days=140)
    assert with_shift[late].min() > without[without.index >= UNTIL].quantile(0.99)
    before = with_shift.index < START + pd.Timedelta(days=109)
    pd.testing.assert_series_equal(with_shift[before], without[before])  # nothing later is used


def test_what_load_explains_is_no_shift() -> None:
    rest = daily.load_corrected(hours(0.0), UNTIL)
    assert set(rest) == {"steam_flow", "storage_temperature"}
    later = rest[rest.index >= UNTIL]
    assert later.std().between(0.5, 1.8).all()
    assert abs(daily.load_corrected(hours(3.0), UNTIL)["storage_temperature"].iloc[-5:].mean()) > 5


def test_season_is_left_out_of_a_baseline_that_has_not_seen_one() -> None:
    index = pd.date_range(START, periods=700, freq="D")
    assert daily.season(index, START + pd.Timedelta(days=120)).shape == (700, 1)
    assert daily.season(index, START + pd.Timedelta(days=365)).shape == (700, 5)
