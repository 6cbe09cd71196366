"""The watch on a plant that is not a deaerator and not ours: the Tennessee Eastman process (Downs and Vogel 1993,
Computers and Chemical Engineering 17, 245), as simulated by tep-studio 0.2.0 (BSD-3). tennessee_eastman.parquet holds
half-hour means; benchmarks/delay/tennessee.py made it, and says how. Published figures stand in docs/statistics.md."""

import numpy as np
import pandas as pd
import pytest

from benchmarks.delay import tennessee


@pytest.fixture(scope="module")
def runs():
    return tennessee.watched(pd.read_parquet(tennessee.STORED))


def delays(runs, fault):
    return np.array([run.delay for run in runs if run.fault == fault])


def test_a_slow_drift_of_the_kinetics_is_found_as_soon_as_by_static_charts(runs):
    """Fault 13: PCA's T² takes 147 minutes and CUSUM 174, at one false alarm in 100 rows; here one in 3650, and
    a row is half an hour."""
    assert len(delays(runs, 13)) == tennessee.RUNS
    assert np.median(delays(runs, 13)) <= 174 + tennessee.MINUTES
    assert all(run.missed < 0.15 for run in runs if run.fault == 13)


@pytest.mark.parametrize("fault", [14, 16, 17, 18])
def test_sticking_valves_and_changing_heat_transfer_are_found_in_every_run(runs, fault):
    """16 to 18 come and go at random; 14 moves nothing but two temperatures and their valve."""
    assert np.all(delays(runs, fault) < 60 * tennessee.AFTER)
    if fault in (17, 18):
        assert np.median(delays(runs, fault)) <= 240


def test_hours_without_a_fault_stay_quiet(runs):
    """504 hours, 1008 rows, at a budget of 0.1 in 365: 0.28 expected. Two or more are one in thirty by chance."""
    assert sum(run.early for run in runs) <= 1
    assert not any(run.early for run in runs if run.fault != 0)
