"""Hours in which the storage fills or empties don't count: that water is in no balance."""

import numpy as np
import pandas as pd

from sevenppb.detect.quality.steady import steady_marks
from sevenppb.detect.settings import DEFAULTS

HOURS = pd.date_range("2025-01-01", periods=200, freq="h", tz="UTC")
AIR = pd.Series(101325.0, index=HOURS)


def marks(**more: np.ndarray) -> pd.DataFrame:
    steady = {
        "shell_pressure": np.full(200, 1.4e5),
        "storage_temperature": np.full(200, 108.0),
        "inlet_flow": np.full(200, 20.0),
    }
    return steady_marks(pd.DataFrame(steady | more, index=HOURS), AIR, DEFAULTS)


def test_an_hour_in_which_the_level_moves_far_is_cut_alone() -> None:
    level = np.where(np.arange(200) < 100, 0.7, 0.4)
    assert np.flatnonzero(marks(level=level)["level move"]).tolist() == [100]


def test_a_level_that_swings_about_its_set_point_cuts_nothing() -> None:
    level = 0.7 + 0.04 * np.sin(np.arange(200))
    assert not marks(level=level).to_numpy().any()


def test_missing_levels_and_vessels_without_one_cut_nothing() -> None:
    gap = np.where(np.arange(200) % 3 == 0, np.nan, 0.7)
    assert not marks(level=gap)["level move"].any()
    assert "level move" not in marks()


def test_a_level_that_moves_while_nothing_runs_is_a_standstill() -> None:
    level, flow = np.full(200, 0.7), np.full(200, 20.0)
    level[100:110], flow[95:120] = 0.2, 0.0
    found = marks(level=level, inlet_flow=flow)
    assert not found["level move"].any()
    assert found["standing"].sum() == 25
