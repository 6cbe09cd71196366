"""A change that undoes a yearly wave learned from a few months is doubted by what the wave adds to it."""

from dataclasses import replace

import made_days
import numpy as np
import pytest
from made_days import COUNT, SD, step

from sevenppb.detect.diagnosis import change, search
from sevenppb.detect.diagnosis.unseen_season import season_doubt
from sevenppb.detect.seasonal.terms import YEARLY_TERMS

END = 270
YEAR = np.cos(2 * np.pi * np.arange(COUNT) / 365.25)


def days(baseline):
    """A season of one wave whose size is hardly known beforehand, and a baseline of the first so many days."""
    made = made_days.days(3)
    return replace(
        made,
        baseline=np.arange(COUNT) < baseline,
        terms=np.column_stack([np.ones(COUNT), YEAR]),
        term_names=("constant", YEARLY_TERMS[0]),
        prior=np.column_stack([np.full(3, np.inf), 20.0 * SD]),
    )


def wandered(made):
    """The readings wander down through the first four months, as a wave of the year would, and then stay about where
    they were on average."""
    mean = YEAR[:120].mean()
    return made_days.moved(made, np.full(3, 20.0), np.where(np.arange(COUNT) < 120, YEAR, mean))


def doubt(made):
    course = step(120)
    white = search.whiteners(made, ())
    read = change._Read(made, made.residual, white, 119, END)
    seen = change._evidence(read, course[:, None])
    own, effect = seen.error[:, 0], seen.effect[:, 0]
    return effect, own, season_doubt(made, white, course, made.residual, END)


def test_a_change_that_undoes_a_learned_wave_is_doubted():
    effect, own, beside = doubt(wandered(days(120)))
    assert np.all(effect / own > 4.0)  # the wave would have gone on, the readings did not: a change, it seems
    assert np.all(abs(effect) / np.hypot(own, beside) < 2.0)


def test_the_doubt_goes_with_the_share_of_the_year_that_no_baseline_has_seen():
    made = wandered(days(90))
    _, _, short = doubt(made)
    _, _, longer = doubt(replace(made, baseline=np.arange(COUNT) % 4 > 0))
    assert np.all(longer < 0.6 * short)


@pytest.mark.parametrize("moved", [0.0, 5.0])
def test_a_step_that_no_wave_explains_is_hardly_doubted(moved):
    made = made_days.moved(days(120), np.full(3, moved), step(120))
    effect, own, beside = doubt(made)
    assert np.all(beside < 0.35 * np.maximum(abs(effect), own + 2.0 * SD))


def test_a_baseline_of_a_year_leaves_nothing_open():
    made = days(120)
    long = replace(made, baseline=np.ones(365, dtype=bool))
    assert np.all(season_doubt(long, (), step(150), made.residual, COUNT) == 0.0)


def test_days_of_the_change_teach_no_season():
    made = wandered(days(120))
    swinging = made_days.moved(made, np.full(3, 9.0), step(120) * (np.arange(COUNT) // 20 % 2))
    np.testing.assert_array_equal(doubt(swinging)[2], doubt(made)[2])
