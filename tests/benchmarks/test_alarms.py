"""A score a day → incidents, by one rule for every rival; and the threshold that allows so many false
ones."""

import numpy as np
import pandas as pd
import pytest
from judged_vessels import BASELINE, DAY, START, day, judged, label

from benchmarks.quality import alarms


def days(values: dict[int, float], length: int = 465) -> pd.Series:
    score = pd.Series(0.0, index=pd.date_range(START, periods=length, freq="D"))
    for number, value in values.items():
        score.iloc[number] = value
    return score


def test_neighbouring_days_are_one_incident_and_distant_ones_two() -> None:
    score = days({200: 2.0, 201: 2.0, 213: 2.0, 240: 2.0})
    assert alarms.raised(score, 1.0) == [day(200), day(240)]


def test_one_that_lasts_is_raised_again() -> None:
    score = days(dict.fromkeys(range(200, 330), 2.0))
    assert alarms.raised(score, 1.0) == [day(200), day(260), day(320)]


def test_the_baseline_is_not_watched() -> None:
    result = judged((), (), days({50: 9.0, 150: 9.0}))
    assert alarms.watched(result, "rival").index[0] == day(BASELINE)
    assert alarms.false_rate([result], "rival", 1.0).number == 1


@pytest.mark.parametrize(("allowed", "number"), [(0.0, 0), (1.0, 1), (2.0, 2), (3.0, 3)])
def test_the_threshold_allows_as_many_as_it_should(allowed: float, number: int) -> None:
    result = judged((), (), days({150: 4.0, 200: 3.0, 300: 2.0}))  # one vessel-year
    limit = alarms.threshold([result], "rival", allowed)
    assert alarms.false_rate([result], "rival", limit).number == number


def test_a_rival_finds_what_it_raises_within_a_fault() -> None:
    rng = np.random.default_rng(1)
    quiet = days({}) + rng.uniform(0.0, 0.5, 465)
    early = quiet + days({150: 2.0})
    late = quiet + days({230: 2.0})
    results = [judged((label(200),), (), score) for score in (quiet, early, late)]
    told = alarms.outcome(results, "rival", 1.0)
    assert (told.faults, told.found, told.named) == (3, 1, None)
    assert told.days == pytest.approx(31.0)
    assert told.false.number == 1
    assert told.false.vessel_years == pytest.approx(3 * 100 / 365.25)
    assert (day(230) - START) / DAY == 230
