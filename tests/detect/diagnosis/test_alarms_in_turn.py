"""The watch's alarms: one a change, none of noise or of work, judged again as they grow, and from no later day."""

from dataclasses import replace

import made_days
import numpy as np
from made_days import BASELINE, COUNT, step

from sevenppb.detect.diagnosis import search
from sevenppb.detect.diagnosis.search import Break
from sevenppb.detect.settings import DEFAULTS

BY = np.array([3.0, -2.0, 0.0])
SIGNED = made_days.signed((3.0, -2.0, 0.0), (-3.0, 2.0, 0.0), (0.0, 0.0, 2.0))


def yes(change, correlation):
    return True


def no(change, correlation):
    return False


def searched(days, work=(), credible=yes):
    return search.search(days, SIGNED, work, DEFAULTS, credible)


def test_noise_raises_no_more_than_its_budget():
    """Ten years of watching at 0.1 alarms a year: more than four come once in 270 times."""
    found = [searched(made_days.days(seed)) for seed in range(30)]
    assert sum(len(one.alarms) for one in found) <= 4
    assert all(np.isnan(one.heights[:BASELINE]).all() for one in found)
    assert all(np.isfinite(one.heights[BASELINE:]).all() for one in found if not one.alarms)


def test_one_change_is_one_alarm_soon_after_it():
    found = searched(made_days.moved(made_days.days(4), BY, step(260)))
    assert [alarm.since for alarm in found.alarms] == [BASELINE]
    assert 260 <= found.alarms[0].day <= 268
    assert abs(found.alarms[0].change.onset - 260) <= 1


def test_a_second_change_is_a_second_alarm_held_against_the_new_level():
    both = made_days.moved(made_days.days(5), BY, step(240))
    first, second = searched(made_days.moved(both, np.array([0.0, 0.0, 4.0]), step(300))).alarms
    assert second.since == first.day + 1
    assert 300 <= second.day <= 306
    assert second.change.onset_low <= 300 <= second.change.onset_high
    assert abs(second.change.onset - 300) <= 7


def test_while_a_level_is_learned_only_what_began_since_is_raised():
    """A second change is a second alarm within days of it; what of the first still goes on is not."""
    both = made_days.moved(made_days.days(6), BY, step(260))
    first, second = searched(made_days.moved(both, np.array([0.0, 0.0, 6.0]), step(276))).alarms
    assert first.day < 266
    assert 276 <= second.day <= 280 < first.day + DEFAULTS.relearn_days
    assert abs(second.change.onset - 276) <= 1
    alarms = searched(made_days.moved(made_days.days(6), 4.0 * BY, made_days.ramp(260, 290))).alarms
    assert len(alarms) >= 2
    assert all(alarm.day > alarms[0].day + DEFAULTS.relearn_days for alarm in alarms[1:])


def test_a_change_where_work_was_done_raises_nothing_in_what_it_resets():
    days = made_days.moved(made_days.days(7), BY, step(250))
    assert searched(days, (Break(250, np.array([True, True, False])),)).alarms == ()
    assert len(searched(days, (Break(250, np.array([False, False, True])),)).alarms) == 1


def test_what_is_not_credible_is_judged_again_when_it_has_grown():
    asked = []

    def judge(change, correlation):
        asked.append(change)
        return False

    found = searched(made_days.moved(made_days.days(8), BY, step(260)), credible=judge)
    assert found.alarms == ()
    assert 2 <= len(asked) < 0.5 * (COUNT - 260)
    assert found.heights[-1].max() > search.GROWN  # no level was learned afresh


def test_a_refused_alarm_is_raised_once_it_is_credible():
    days, asked = made_days.moved(made_days.days(8), BY, step(260)), []

    def judge(change, correlation):
        asked.append(change)
        return len(asked) == 3

    late, soon = searched(days, credible=judge).alarms[0], searched(days).alarms[0]
    assert late.day >= soon.day + 2 * search.REST
    assert late.since == soon.since


def test_later_days_change_no_alarm():
    days = made_days.moved(made_days.days(9), BY, step(260))
    later = days.residual.copy()
    later[300:] += 5.0
    found, other = searched(days, credible=no), searched(replace(days, residual=later), credible=no)
    np.testing.assert_array_equal(found.heights[:300], other.heights[:300])
    assert searched(days).alarms[0].day == searched(replace(days, residual=later)).alarms[0].day


def test_innovations_stand_on_the_days_with_readings():
    days = made_days.days(11)
    holes = days.residual.copy()
    holes[50:60, 1] = np.nan
    days = replace(days, residual=holes)
    values, response = search.innovations_of(days, search.whiteners(days, ()))
    np.testing.assert_array_equal(np.isnan(values), np.isnan(holes))
    assert (response[50:60, 1] == 0.0).all()
    assert (np.delete(response, range(50, 60), axis=0) > 0.0).all()


def test_an_alarm_is_told_from_its_own_day_and_those_before():
    days = made_days.moved(made_days.days(4), BY, step(260))
    alarm = searched(days).alarms[0]
    later = days.residual.copy()
    later[alarm.day + 1 :] += 7.0
    other = searched(replace(days, residual=later)).alarms[0]
    assert other.day == alarm.day
    np.testing.assert_array_equal(other.change.effect, alarm.change.effect)


def test_days_pass_between_two_judgements_however_fast_a_chart_grows(monkeypatch):
    asked, real = [], search.changes.fit_change

    def noted(days, white, since, alarms, end):
        asked.append(alarms[0])
        return real(days, white, since, alarms, end)

    monkeypatch.setattr(search.changes, "fit_change", noted)
    searched(made_days.moved(made_days.days(4), 4.0 * BY, step(260)), credible=no)
    assert len(asked) >= 3
    assert np.diff(asked).min() >= search.REST
