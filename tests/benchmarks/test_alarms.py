"""A score a day → incidents, by one rule for every rival; and the threshold that allows so many false
ones."""

import numpy as np
import pandas as pd
import pytest
from judged_vessels import BASELINE, START, judged, label

from benchmarks.quality import alarms
from benchmarks.quality.outcome import Outcome


def days(values: dict[int, float], length: int = 465) -> pd.Series:
    score = pd.Series(0.0, index=pd.date_range(START, periods=length, freq="D"))
    for number, value in values.items():
        score.iloc[number] = value
    return score


def at(vessels: list[alarms.Watched], threshold: float) -> Outcome:
    (told,) = alarms.outcomes(vessels, "rival", np.array([threshold]))
    return told


def test_neighbouring_days_are_one_incident_and_distant_ones_two() -> None:
    assert alarms.raised(np.array([200, 201, 213, 240])) == [200, 240]
    assert alarms.raised(np.array([200, 214])) == [200]
    assert alarms.raised(np.array([200, 215])) == [200, 215]
    assert alarms.raised(np.array([], dtype=int)) == []


def test_one_that_lasts_is_raised_again() -> None:
    assert alarms.raised(np.arange(200, 330)) == [200, 260, 320]
    assert alarms.raised(np.array([*range(200, 250), *range(262, 270)])) == [200, 262]


def test_the_baseline_is_not_watched() -> None:
    (vessel,) = alarms.watched([judged((), (), days({50: 9.0, 150: 9.0}))], "rival")
    assert vessel.days[[0, -1]].tolist() == [0, 464 - BASELINE]
    assert at([vessel], 1.0).false.number == 1


@pytest.mark.parametrize(("allowed", "number"), [(0.0, 0), (1.0, 1), (2.0, 2), (3.0, 3)])
def test_the_threshold_allows_as_many_as_it_should(allowed: float, number: int) -> None:
    vessels = alarms.watched(
        [judged((), (), days({150: 4.0, 200: 3.0, 300: 2.0}))], "rival"
    )  # one vessel-year
    assert at(vessels, alarms.threshold(vessels, allowed)).false.number == number


def test_a_rival_finds_what_it_raises_within_a_fault() -> None:
    rng = np.random.default_rng(1)
    quiet = days({}) + rng.uniform(0.0, 0.5, 465)
    early = quiet + days({150: 2.0})
    late = quiet + days({230: 2.0})
    results = [judged((label(200),), (), score) for score in (quiet, early, late)]
    told = at(alarms.watched(results, "rival"), 1.0)
    assert (told.faults, told.found, told.named) == (3, 1, None)
    assert told.delays == (
        pytest.approx(np.nan, nan_ok=True),
        pytest.approx(np.nan, nan_ok=True),
        pytest.approx(31.0),
    )
    assert told.days == pytest.approx(31.0)
    assert told.false.number == 1
    assert told.false.vessel_years == pytest.approx(3 * 100 / 365.25)


def test_many_thresholds_at_once_are_each_by_itself() -> None:
    rng = np.random.default_rng(2)
    results = [
        judged((label(onset), label(onset + 60, ended=onset + 90)), (), days({}) + rng.gamma(2.0, size=465))
        for onset in (150, 300)
    ]
    vessels = alarms.watched(results, "rival")
    tried = alarms.ladder(vessels)
    assert tried[0] == np.inf
    assert len(tried) > 40
    for one, threshold in zip(alarms.outcomes(vessels, "rival", tried), tried, strict=True):
        alone = at(vessels, float(threshold))
        assert one.false == alone.false
        np.testing.assert_equal(one.delays, alone.delays)
