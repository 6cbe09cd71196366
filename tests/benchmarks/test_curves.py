"""Ways of watching at the same false rate: thresholds with hindsight, budgets, and two ways fault by fault."""

from dataclasses import replace

import numpy as np
import pytest
from judged_vessels import incident, judged, label

from benchmarks.quality import curves, outcome
from benchmarks.quality.alarms import Watched
from benchmarks.quality.outcome import Outcome
from benchmarks.quality.score import Rate

MISSED = float("nan")


def way(*delays: float, false: int = 0) -> Outcome:
    return Outcome("rival", delays, Rate(false, 10.0), None)


def vessel(quiet: float, sick: float) -> Watched:
    """A year's scores: on day 50, while nothing is wrong, and on day 230, in a fault from day 200 on."""
    days = np.arange(365)
    score = np.where(days == 50, quiet, np.where(days == 230, sick, 0.0))
    within = days >= 200
    return Watched(days, score, ~within, 200 / 365.25, (np.where(within, days - 199.0, np.nan),))


def test_medians_over_the_found_and_over_all() -> None:
    told = way(10.0, MISSED, 30.0, 20.0)
    assert (told.faults, told.found, told.days, told.days_of_all) == (4, 3, 20.0, 25.0)
    assert way(10.0, MISSED).days_of_all == np.inf
    assert way(10.0, 20.0, MISSED, MISSED, MISSED).days_of_all == np.inf
    assert np.isnan(way(MISSED).days)


def test_two_ways_are_compared_on_what_both_found() -> None:
    told = outcome.pair(way(5.0, 40.0, MISSED, 20.0), way(25.0, MISSED, 3.0, 20.5))
    assert (told.both, told.first, told.second, told.earlier) == (2, 12.5, 22.75, 1)
    assert outcome.pair(way(MISSED), way(3.0)).both == 0


def test_a_threshold_with_hindsight_keeps_the_rate_and_finds_the_most() -> None:
    vessels = [vessel(1.0, 2.0), vessel(3.0, 4.0), vessel(5.0, 2.5), vessel(0.5, 0.0)]
    years = 4 * 200 / 365.25
    tried = curves.swept(vessels, "rival")
    told = {number: curves.at_most(tried, number / years) for number in range(4)}
    assert {number: (o.false.number, o.found) for number, o in told.items()} == {
        0: (0, 0), 1: (1, 1), 2: (2, 3), 3: (2, 3),
    }  # fmt: skip
    assert [(o.false.number, o.found) for o in curves.rising(tried)] == [(1, 1), (2, 3)]


def test_of_as_many_found_those_found_sooner_count() -> None:
    tried = [way(MISSED), way(30.0), way(20.0, false=1), way(10.0, false=2)]
    assert curves.at_most(tried, 0.1).days == 20.0
    assert [o.days for o in curves.rising(tried)] == [30.0]


def test_each_budget_of_the_scan_is_judged_as_the_scan_is() -> None:
    fault = label(300)
    usual = judged((fault,), (incident(310),))
    other = replace(usual, budgets={1.0: (incident(150), incident(305)), 0.03: ()})
    assert outcome.own([other]).delays == (pytest.approx(11.0),)
    told = curves.own([other])
    assert list(told) == [0.03, 1.0]
    assert (told[0.03].found, told[0.03].false.number) == (0, 0)
    assert (told[1.0].days, told[1.0].false.number, told[1.0].named) == (pytest.approx(6.0), 1, 1)
