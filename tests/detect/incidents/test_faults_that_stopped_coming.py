"""A fault that came and went and has not come again for two months has eased, since its last day on."""

import numpy as np
import pytest

from sevenppb.detect.incidents import ends

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
