"""A fault that came and went and has not come again for two months has eased, since its last day on; and what was
mended on the day on which one ended is likelier to have been it."""

from types import SimpleNamespace

import numpy as np
import pytest

from sevenppb.detect.diagnosis.search import SETTLED, Mended
from sevenppb.detect.incidents import ends, episode

COUNT = 300


@pytest.mark.parametrize(
    ("on", "since"),
    [
        ((200, 201, 210), 211),
        ((200, COUNT - ends.AFTERMATH - 1), None),
        ((200, COUNT - ends.AFTERMATH - 2), COUNT - ends.AFTERMATH - 1),
        (range(200, COUNT), None),
        ((), None),
    ],
)
def test_it_has_eased_where_it_stays_away(on, since):
    there = np.zeros(COUNT, dtype=bool)
    there[list(on)] = True
    assert ends.quiet_since(there) == since


NOTHING_NEW = np.zeros(2, dtype=bool)
SPRAYS, VENT = ("fouled-sprays", None, -1), ("choked-vent", None, -1)


@pytest.mark.parametrize(
    ("ended", "mended"),
    [(None, set()), (200, {SPRAYS}), (200 + SETTLED, {SPRAYS, VENT}), (200 - SETTLED - 1, set())],
)
def test_work_of_about_the_day_on_which_it_ended_says_what_it_was(ended, mended):
    work = tuple(
        Mended(day + 3, NOTHING_NEW, day, day, frozenset({cause}))
        for day, cause in ((200, SPRAYS), (210, VENT))
    )
    group = episode.Open((), frozenset(), np.zeros(2), SPRAYS, 150, ended=ended)
    assert episode.mended_then(SimpleNamespace(work=work), group) == mended


@pytest.mark.parametrize(("before", "first"), [(None, 200), (120, 120)])
def test_work_that_ends_it_leaves_the_end_of_its_first_stretch(monkeypatch, before, first):
    seen = SimpleNamespace(change=None, diagnosis=None)
    monkeypatch.setattr(ends, "seen_before", lambda *_: (seen, ()))
    monkeypatch.setattr(ends, "white_since", lambda *_: ())
    monkeypatch.setattr(ends, "still_there", lambda *_: False)
    group = episode.Open((SimpleNamespace(day=100),), frozenset(), np.zeros(2), SPRAYS, 90, first_end=before)
    watched = SimpleNamespace(work=(Mended(203, NOTHING_NEW, 200, 200),))
    put = ends.put_right(watched, group, [group], COUNT)
    assert (put.ended, put.first_end) == (200, first)


@pytest.mark.parametrize(("low_from", "met"), [(COUNT, 199), (120, 119), (0, 200)])
def test_what_hides_below_a_load_may_have_begun_since_that_was_last_met(low_from, met):
    flow = np.full(COUNT, 40.0)
    flow[low_from:200] = 20.0  # a slack season before it shows
    days = SimpleNamespace(at=SimpleNamespace(flow=flow))
    change = SimpleNamespace(onset=205, onset_low=200, end=COUNT)
    assert episode._last_met(days, change) == met
