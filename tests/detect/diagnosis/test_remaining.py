"""What is left of a change since it was found going back: its share, and how far that is from certain."""

from dataclasses import replace

import made_days
import numpy as np
import pytest
from made_days import COUNT, SD, ramp, step

from sevenppb.detect.diagnosis import search
from sevenppb.detect.diagnosis.change import Change
from sevenppb.detect.diagnosis.remaining import remaining, showing_days
from sevenppb.detect.incidents import ends

BY = np.array([6.0, -5.0, 0.0])
ONSET, TURNED = 240, 285
ALL = np.ones((COUNT, len(SD)))


def known(shape="step", course=None):
    course = step(ONSET) if course is None else course
    return Change(shape, ONSET, ONSET, ONSET, ONSET, course, BY * SD, 0.1 * SD, TURNED)


def left(days, change=None, showing=ALL):
    return remaining(days, search.whiteners(days, ()), change or known(), TURNED, COUNT, showing)


@pytest.mark.parametrize("share", [0.0, 0.4, 1.0])
@pytest.mark.parametrize("seed", range(3))
def test_the_share_that_stayed_comes_back(share, seed):
    course = step(ONSET) + (share - 1.0) * step(TURNED)
    found = left(made_days.moved(made_days.days(seed), BY, course))
    assert abs(found.share - share) < min(2.0 * found.error, 0.25)
    assert found.error < 0.25


def test_a_ramp_that_stands_where_it_turned_is_all_there():
    course = ramp(ONSET, TURNED - 1)
    found = left(made_days.moved(made_days.days(5), BY, course), known("ramp", course))
    assert abs(found.share - 1.0) < 2.0 * found.error


def test_what_shows_less_under_the_loads_since_has_not_gone():
    """A third of the effect is all that is left, and all that the cause would show."""
    days = made_days.moved(made_days.days(6), BY, step(ONSET) - 0.67 * step(TURNED))
    shown = np.where(np.arange(COUNT)[:, None] < TURNED, ALL, 0.33)
    as_seen, as_told = left(days), left(days, showing=shown)
    assert as_seen.share < 0.5
    assert abs(as_told.share - 1.0) < 2.0 * as_told.error
    assert as_told.error > 2.0 * as_seen.error  # the less would show, the less is certain


def test_nothing_is_certain_where_nothing_would_show():
    days = made_days.days(7)
    silent = np.where(np.arange(COUNT)[:, None] < TURNED, ALL, 0.0)
    assert left(days, showing=silent).error == np.inf
    unread = replace(days, residual=np.where(np.arange(COUNT)[:, None] < TURNED, days.residual, np.nan))
    assert left(unread).error == np.inf


def test_wild_readings_since_are_no_return():
    days = made_days.moved(made_days.days(8), BY, step(ONSET) - step(TURNED))
    wild = days.residual.copy()
    wild[300] += 200.0 * SD
    assert abs(left(replace(days, residual=wild)).share - left(days).share) < 0.05


def test_days_after_the_end_say_nothing():
    """It is all there until row 310, and gone afterwards."""
    days = made_days.moved(made_days.days(11), BY, step(ONSET) - step(310))
    white = search.whiteners(days, ())
    until = remaining(days, white, known(), TURNED, 310, ALL)
    assert abs(until.share - 1.0) < 2.0 * until.error
    assert remaining(days, white, known(), TURNED, COUNT, ALL).share < until.share - 0.1


def test_evidence_of_the_last_weeks_is_what_shows_there():
    """Six tenths of the change for the last month, all of it before: then 0.6 of its effects are told as its own."""
    late = COUNT - ends.RECENT
    days = made_days.moved(made_days.days(9), BY, step(ONSET) - 0.4 * step(late))
    change = replace(known(), end=COUNT)
    course = ends.as_of_late(days, search.whiteners(days, ()), change).course
    np.testing.assert_array_equal(course[:late], change.course[:late])
    assert np.all(abs(course[late:] - 0.6) < 0.15)


def test_where_nothing_was_read_in_the_last_weeks_the_course_stays():
    days = made_days.moved(made_days.days(10), BY, step(ONSET))
    rows = np.arange(COUNT)[:, None] < COUNT - ends.RECENT
    unread = replace(days, residual=np.where(rows, days.residual, np.nan))
    change = replace(known(), end=COUNT)
    assert ends.as_of_late(unread, search.whiteners(unread, ()), change) is change


def test_days_on_are_those_on_which_most_of_a_change_shows_also_after_it_was_looked_at():
    """On for a week, off for a week, again and again; a wild day alone is neither."""
    on = ((np.arange(COUNT) // 7) % 2 == 0) & (np.arange(COUNT) >= ONSET)
    days = made_days.moved(made_days.days(12), BY, on.astype(float))
    wild = days.residual.copy()
    wild[ONSET + 10] += 2.0 * BY * SD
    seen = showing_days(
        replace(days, residual=wild), search.whiteners(days, ()), known("intermittent", on.astype(float))
    )
    assert not seen[:ONSET].any()
    assert np.mean(seen[ONSET:] == on[ONSET:]) > 0.95
    assert seen[TURNED:].any()
    assert not seen[ONSET + 10]
