"""Sizes as people are told them, worked by hand from a candidate's steps."""

from types import SimpleNamespace

import numpy as np
import pytest

from sevenppb.detect.diagnosis import likelihood, magnitude
from sevenppb.detect.diagnosis.explained import SIZES
from sevenppb.detect.diagnosis.signatures import Candidate

HEALTH = SimpleNamespace(flow=30.0)  # kg/s


@pytest.mark.parametrize(
    ("candidate", "steps", "told"),
    [
        # half of a vent's area: its logarithm falls by log 2
        (Candidate("choked-vent", None, -1, 0.1, True), np.log(2) / 0.1, 0.5),
        (Candidate("open-vent", None, 1, 0.1, True), np.log(2) / 0.1, 1.0),
        # 0.5 K off 30 kg/s of water with 4.19 kJ/(kg K) is 63 kW, by the half of the shell that is wetted
        (Candidate("heat-loss", None, 1, 0.25, False), 2.0, 126.0),
        # a drift keeps its sign: degrees as they are, of a flow the share of the reading
        (Candidate("sensor-drift", "storage_temperature", -1, 0.5, False), 3.0, -1.5),
        (Candidate("sensor-drift", "steam_flow", -1, 0.05, True), np.log(1.25) / 0.05, -0.2),
    ],
)
def test_a_size_is_told_in_its_unit(candidate: Candidate, steps: float, told: float) -> None:
    assert magnitude.in_unit(candidate, steps, HEALTH) == pytest.approx(told, rel=0.01)


def test_a_size_known_within_some_error_is_told_with_that_error_about_it() -> None:
    """No prior pulls it down: 1.645 standard errors on either side, but for the sizes' grid."""
    told = likelihood._size(-0.5 * ((SIZES[None, :] - 2.0) / 0.4) ** 2)
    assert told == pytest.approx((2.0, 2.0 - 1.645 * 0.4, 2.0 + 1.645 * 0.4), rel=0.03)
