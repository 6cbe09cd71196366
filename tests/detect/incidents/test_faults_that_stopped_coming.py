"""A fault that came and went and has not come again for two months has eased, since its last day on."""

from types import SimpleNamespace

import numpy as np
import pytest

from sevenppb.detect.incidents import episodes

COUNT = 300


def change(*on, end=COUNT):
    course = np.zeros(COUNT)
    course[list(on)] = 1.0
    return SimpleNamespace(course=course, end=end)


@pytest.mark.parametrize(
    ("on", "end", "since"),
    [
        ((200, 201, 210), COUNT, 211),
        ((200, COUNT - episodes.AFTERMATH - 1), COUNT, None),
        ((200, COUNT - episodes.AFTERMATH - 2), COUNT, COUNT - episodes.AFTERMATH - 1),
        ((200, 290), 280, 201),  # what is behind the end was not looked at
        (range(200, COUNT), COUNT, None),
    ],
)
def test_it_has_eased_where_it_stays_away(on, end, since):
    assert episodes._quiet_since(change(*on, end=end)) == since
