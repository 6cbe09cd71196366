"""Over which days an incident's evidence, consequence and size are averaged."""

from types import SimpleNamespace

import numpy as np
import pytest

from sevenppb.detect.incidents import build, episodes

COUNT = 100
RAN = np.where(np.arange(COUNT) % 10 == 0, 0.0, 24.0)  # every tenth day stands still
DAYS = SimpleNamespace(hours=RAN, index=range(COUNT))


@pytest.mark.parametrize(
    ("onset", "end", "first", "last", "count"),
    [
        (20, COUNT, 69, 99, episodes.RECENT),  # long there: the last days that ran
        (95, COUNT, 95, 99, 5),  # young: none before it began
        (35, 50, 35, 49, 14),  # over: none after it had gone
        (90, 91, 59, 89, episodes.RECENT),  # not one day ran since: those before are all there is
    ],
)
def test_no_day_before_the_onset_or_after_the_end(onset, end, first, last, count):
    rows = build._recent(DAYS, onset, end)
    assert (rows[0], rows[-1], len(rows)) == (first, last, count)
    assert (RAN[rows] > 0).all()


@pytest.mark.parametrize(
    ("shape", "course", "averaged"),
    [
        ("intermittent", [0, 0, 1, 1, 1, 1], True),  # one level for all its days
        ("intermittent", [0, 0, 1, 0, 1, 1], False),  # of its days on alone
        ("step", [0, 0, 1, 1, 1, 1], False),
    ],
)
def test_a_size_is_a_mean_where_days_on_and_off_have_one_level(shape, course, averaged):
    change = SimpleNamespace(shape=shape, course=np.array(course), onset=2, end=6)
    assert build._averaged(change) is averaged
