"""An alarm's change: its onset, course and size come back, from no later day, and equal dense least squares."""

from dataclasses import replace
from types import SimpleNamespace

import made_days
import numpy as np
import pytest
from made_days import COUNT, SD, ramp, step

from sevenppb.detect.diagnosis import change, odd_days, search

BY = np.array([3.0, -2.0, 0.0])


def told(days, alarm=285, since=made_days.BASELINE, end=COUNT):
    return change.fit_change(days, search.whiteners(days, ()), since, (alarm, alarm), end)


def dense(days, course, f, end):
    """Second way to an effect and its error: the covariance of the days with readings, level and wave included."""
    noise, rows = days.noise[f], np.flatnonzero(~np.isnan(days.residual[:end, f]))
    cover = noise.sd**2 * noise.phi ** abs(rows[:, None] - rows)
    columns = days.terms[rows] * np.minimum(days.prior[f], 1e3 * noise.sd)
    inverse = np.linalg.inv(cover + columns @ columns.T)
    h = course[rows]
    return h @ inverse @ days.residual[rows, f] / (h @ inverse @ h), (h @ inverse @ h) ** -0.5


@pytest.mark.parametrize("seed", range(4))
def test_a_step_comes_back(seed):
    days = made_days.moved(made_days.days(seed), BY, step(270))
    found = told(days)
    assert (found.shape, found.full) == ("step", found.onset)
    assert abs(found.onset - 270) <= 1
    assert found.onset_low < 270 <= found.onset_high
    assert np.all(abs(found.effect - BY * SD) < 4.0 * found.error)
    np.testing.assert_array_equal(found.course, step(found.onset))


@pytest.mark.parametrize("seed", range(3))
def test_a_step_in_noise_that_remembers_less_than_stated_is_no_coming_and_going(seed):
    """The days scatter anew, where they are said to remember: what scatters is no switch."""
    white = np.random.default_rng(seed).standard_normal((COUNT, len(SD))) * 1.5 * SD
    slow = tuple(replace(noise, phi=0.9) for noise in made_days.NOISE)
    days = replace(made_days.days(), residual=white, noise=slow)
    found = told(made_days.moved(days, 3.0 * BY, step(270)))
    assert found.shape == "step"
    assert 266 <= found.onset_low <= 270 <= found.onset_high <= 272


@pytest.mark.parametrize(("full", "shown"), [(COUNT - 1, None), (280, 280)])
def test_a_ramp_comes_back_growing_or_whole(full, shown):
    found = told(made_days.moved(made_days.days(5), 2.0 * BY, ramp(225, full)))
    assert found.shape == "ramp"
    assert abs(found.onset - 225) <= 12
    assert found.onset_low <= 225 <= found.onset_high
    assert found.full is None if shown is None else abs(found.full - shown) <= 12
    assert (found.course[found.onset - 1], found.course[-1]) == (0.0, 1.0)
    assert np.all(np.diff(found.course) >= 0.0)
    assert np.all(abs(found.effect - 2.0 * BY * SD) < 4.0 * found.error)


def test_a_ramp_that_quickens_comes_back_bent():
    """Half way in time, a quarter of the move: its course grows as the square of the days."""
    found = told(made_days.moved(made_days.days(8), 6.0 * BY, ramp(225, COUNT - 1) ** 2))
    half = (225 + COUNT) // 2
    assert found.shape == "ramp"
    assert found.course[half] == pytest.approx(0.25, abs=0.04)
    assert np.all(abs(found.effect - 6.0 * BY * SD) < 4.0 * found.error)


def test_effects_and_errors_are_those_of_dense_least_squares():
    days = made_days.moved(made_days.days(6), BY, step(270))
    holes = days.residual.copy()
    holes[np.random.default_rng(7).random(holes.shape) < 0.2] = np.nan
    days = replace(days, residual=holes)
    found = told(days, end=320)
    for f in range(3):
        effect, error = dense(days, found.course, f, 320)
        assert found.effect[f] == pytest.approx(effect, rel=1e-4)
        assert found.error[f] == pytest.approx(error, rel=1e-4)


def test_no_later_day_is_looked_at():
    days = made_days.moved(made_days.days(8), BY, step(270))
    later = days.residual.copy()
    later[300:] += 50.0
    found, other = told(days, end=300), told(replace(days, residual=later), end=300)
    assert (found.onset, found.full, found.onset_low, found.onset_high) == (
        other.onset, other.full, other.onset_low, other.onset_high,
    )  # fmt: skip
    np.testing.assert_array_equal(found.effect, other.effect)


def test_it_began_neither_before_the_watch_nor_after_its_alarm():
    days = made_days.moved(made_days.days(9), BY, step(230))
    assert told(days, alarm=285, since=240).onset >= 240
    assert told(days, alarm=225, since=220).onset <= 224


def test_it_began_within_reach_of_its_alarm(monkeypatch):
    monkeypatch.setattr(change, "REACH", 20)
    assert told(made_days.moved(made_days.days(9), BY, step(230)), alarm=285).onset >= 265


def test_a_wild_day_or_two_are_no_change():
    """Their effect is that of the days without them."""
    days = made_days.days(10)
    wild = days.residual.copy()
    wild[280:282, 0] += 60.0 * SD[0]
    found = told(replace(days, residual=wild))
    assert abs(found.effect[0]) < 5.0 * found.error[0]


def test_a_step_is_not_odd():
    """Its first days stay as they are, for all that they are far from the week before."""
    days = made_days.moved(made_days.days(11), 10.0 * BY, step(270))
    odd = odd_days.odd_days(days, search.whiteners(days, ()), COUNT, told=False)
    np.testing.assert_array_equal(odd_days.without(days, odd)[264:276], days.residual[264:276])


def test_the_first_days_after_a_repair_are_not_odd():
    """Beside the week before it they would be, where the repair's own days have no reading."""
    days = made_days.moved(made_days.days(11), 10.0 * BY, step(270))
    unread = days.residual.copy()
    unread[271:274] = np.nan
    days = replace(days, residual=unread)
    repaired = search.Break(270, np.ones(len(BY), dtype=bool))
    kept = odd_days.without(
        days, odd_days.odd_days(days, search.whiteners(days, (repaired,)), COUNT, told=False)
    )
    np.testing.assert_array_equal(kept[264:276], unread[264:276])
    blind = odd_days.without(days, odd_days.odd_days(days, search.whiteners(days, ()), COUNT, told=False))
    assert (kept[270] != blind[270]).any()


def spells(*begins, long=2):
    course = np.zeros(COUNT)
    for begin in begins:
        course[begin : begin + long] = 1.0
    return course


def test_what_comes_and_goes_is_told_at_full_size_from_its_first_day():
    """Days on and days off, a third of them on: the effects are those of the days on, not of their mean."""
    course = spells(*range(250, 300, 6))
    found = told(made_days.moved(made_days.days(10), 8.0 * BY, course))
    assert (found.shape, found.onset, found.full) == ("intermittent", 250, 250)
    np.testing.assert_array_equal(found.course[:300], course[:300])
    assert np.all(abs(found.effect - 8.0 * BY * SD) < 5.0 * found.error)


def test_days_off_after_an_alarm_are_no_fault_that_comes_and_goes():
    """They are left out, as other odd days are: the level learned since is a mean of days on and off."""
    days = made_days.moved(made_days.days(10), np.array([-60.0, 0.0, 0.0]), spells(*range(250, 300, 9)))
    assert abs(told(days, since=made_days.BASELINE + 1).effect[0]) < 20.0 * SD[0]
    assert told(days).effect[0] < -50.0 * SD[0]


def test_one_that_began_after_its_alarm_is_another():
    days = made_days.moved(made_days.days(10), 8.0 * BY, spells(*range(291, 330, 6)))
    assert told(days, alarm=285).onset < 285


@pytest.mark.parametrize(("apart", "told_of"), [(odd_days.AGAIN - 2, True), (odd_days.AGAIN + 2, False)])
def test_two_spells_within_a_month_are_no_accident(apart, told_of):
    days = made_days.moved(made_days.days(10), np.array([60.0, 0.0, 0.0]), spells(250, 250 + apart))
    assert (abs(told(days).effect[0]) > 50.0 * SD[0]) == told_of


def test_all_that_moved_dates_the_change():
    """Three residuals, each moved by a standard deviation up or down, date better than the best of them."""
    by = np.array([1.2, -1.2, 1.2])
    apart, together = [], []
    for seed in range(12):
        days = made_days.moved(made_days.days(100 + seed), by, step(270))
        alone = replace(days, residual=np.where(np.arange(3) == 1, days.residual, np.nan))
        together.append(abs(told(days).onset - 270))
        apart.append(abs(told(alone).onset - 270))
    assert np.mean(together) < np.mean(apart)
    assert np.median(together) <= 3


def test_what_has_hardly_been_read_says_nothing():
    days = made_days.moved(made_days.days(12), BY, step(270))
    hardly = days.residual.copy()
    hardly[9:, 1] = np.nan
    found = told(replace(days, residual=hardly))
    assert (found.effect[1], found.error[1]) == (0.0, np.inf)
    assert abs(found.onset - 270) <= 1


def test_a_change_of_a_few_days_is_a_step_not_yet_dated():
    """With fewer days since than any dating needs, any day since may be the one."""
    days = made_days.moved(made_days.days(13), 2.0 * BY, step(300))
    found = told(days, alarm=302, since=299, end=303)
    assert found.shape == "step"
    assert (found.onset_low, found.onset_high) == (299, 301)
    assert found.onset_low <= found.onset <= found.onset_high


def test_the_coarse_search_tries_steps_ramps_of_three_lengths_and_one_still_growing():
    assert change._trials(np.array([10]), 200) == [(10, 10), (10, 40), (10, 85), (10, 160), (10, 199)]
    # a ramp that ended in the last week, or is no two weeks old, can't be told from one that still grows or a step
    assert change._trials(np.array([10]), 47) == [(10, 10), (10, 46)]
    assert change._trials(np.array([10]), 25) == [(10, 10)]


@pytest.mark.parametrize(("full", "grows"), [(COUNT - 1, True), (280, False)])
def test_the_coarse_course_stands_where_the_date_misleads(monkeypatch, full, grows):
    """A date at the baseline's end tells the ramp worse; what is then told still says whether it grows."""
    fit = change.dating.fit
    monkeypatch.setattr(
        change.dating, "fit", lambda *args: replace(fit(*args), shape="step", onset=made_days.BASELINE)
    )
    found = told(made_days.moved(made_days.days(5), 4.0 * BY, ramp(225, full)))
    assert found.shape == "ramp"
    assert abs(found.onset - 225) <= 15
    assert (found.full is None) == grows


def test_a_huge_move_is_dated_as_sharply_as_a_large_one():
    found = told(made_days.moved(made_days.days(14), 60.0 * BY, step(270)))
    assert (found.shape, found.onset) == ("step", 270)
    assert found.onset_high - found.onset_low <= 2


@pytest.mark.parametrize("seed", range(3))
def test_what_shows_above_some_load_is_told_from_what_comes_with_time_alone(seed):
    above = np.maximum(made_days.LOAD - 44.0, 0.0) / 4.0
    noise = made_days.days(seed)
    assert told(made_days.moved(noise, 2.0 * BY, step(240) * above)).by_load > 20.0
    assert told(made_days.moved(noise, 2.0 * BY, step(240))).by_load == 0.0
    days = np.arange(COUNT) // 12 % 2 == 0  # on and off, whatever the load
    assert told(made_days.moved(noise, 2.0 * BY, step(240) * days)).by_load < 5.0


def test_a_steady_load_tells_nothing():
    steady = replace(made_days.days(), at=SimpleNamespace(flow=np.full(COUNT, 40.0)))
    assert told(made_days.moved(steady, BY, step(270))).by_load == 0.0
    unread = replace(made_days.days(), at=SimpleNamespace(flow=np.full(COUNT, np.nan)))
    assert told(made_days.moved(unread, BY, step(270))).by_load == 0.0
