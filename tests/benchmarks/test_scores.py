"""Scans beside the truth: what counts as found, right, false and within its interval."""

import judged_vessels as by_hand
import numpy as np
import pytest
from judged_vessels import incident, judged, label

from benchmarks.quality import score


def test_only_an_incident_within_the_fault_finds_it() -> None:
    fault = label(200.4, ended=300.0)
    for flagged, found in ((199, False), (200, True), (250, True), (301, False)):
        (match,) = score.scored(judged((fault,), (incident(flagged),))).matches
        assert (match.incident is not None) == found, flagged


def test_days_count_to_the_end_of_the_day_of_the_flag() -> None:
    (match,) = score.matches([judged((label(200.4),), (incident(210),))])
    assert match.delay == pytest.approx(10.6)


def test_the_right_cause_is_taken_before_an_earlier_wrong_one() -> None:
    wrong, right = incident(205, "heat-loss"), incident(220)
    result = judged((label(200),), (wrong, right))
    told = score.scored(result)
    assert told.matches[0].incident is right
    assert told.false == (wrong,)
    assert (score.beside([result]), score.false_rate([result]).number) == (1, 0)


def test_first_and_second_place() -> None:
    (only_second,) = score.matches(
        [judged((label(200),), (incident(210, "heat-loss", other="choked-vent"),))]
    )
    assert (only_second.right, only_second.second) == (False, True)


def test_a_frozen_reading_is_neither_false_nor_a_find() -> None:
    stuck = incident(210, "sensor-stuck", "level")
    told = score.scored(judged((label(200),), (stuck,)))
    assert told.matches[0].incident is None
    assert (told.frozen, told.false) == ((stuck,), ())


def test_false_incidents_are_those_while_nothing_was_wrong() -> None:
    healthy, sick = (
        judged((), (incident(150), incident(400))),
        judged((label(282.625),), (incident(120), incident(290))),
    )
    rate = score.false_rate([healthy, sick])
    assert rate.number == 3
    assert rate.vessel_years == pytest.approx(1.0 + 0.5, abs=0.01)
    assert rate.per_year == pytest.approx(2.0, abs=0.02)


def test_the_table_counts_by_cause_and_over_all() -> None:
    found = judged((label(200),), (incident(210),))
    missed = judged((label(200, "heat-loss"),), ())
    table = score.table([found, missed])
    assert table.loc["all", ["faults", "found", "first", "first two"]].tolist() == [2, 1, 1, 1]
    assert np.isnan(table.loc["heat-loss", "days"])


def test_a_size_counts_as_it_was_on_the_last_day() -> None:
    growing = label(455.25)  # half grown on the last day
    assert score.magnitude_coverage([judged((growing,), (incident(460, size=(0.2, 0.3)),))]) == (1, 1)
    large = judged((growing,), (incident(460, size=(0.4, 0.6)),))
    assert score.magnitude_coverage([large]) == (0, 1)
    assert score.size_ratios([large], "choked-vent") == [pytest.approx(2.0)]
    assert score.size_ratios([large], "heat-loss") == []
    assert score.magnitude_coverage([judged((label(200, ended=300.0),), (incident(210),))]) == (0, 0)


def test_onsets_in_days_and_in_shares_of_the_fault() -> None:
    late = judged((label(365.25),), (incident(380, onset=375.25),))
    told = score.onset_errors([late])
    assert (told.days, told.share) == (pytest.approx(10.0), pytest.approx(0.1))
    assert (told.inside, told.total) == (0, 1)
    near = judged((label(365.0),), (incident(380, onset=367),))
    assert score.onset_errors([near]).inside == 1


def test_reliability_by_bins() -> None:
    sure = [judged((label(200),), (incident(210, confidence=0.97),)) for _ in range(3)]
    unsure = judged((label(200),), (incident(210, "heat-loss", confidence=0.6),))
    bins = score.reliability([*sure, unsure]).set_index("low")
    assert bins.loc[0.95, ["incidents", "stated", "right"]].tolist() == [3, pytest.approx(0.97), 1.0]
    assert bins.loc[0.5, "right"] == 0.0
    assert by_hand.BASELINE < 200
