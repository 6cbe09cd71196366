"""A size in a signature's steps → what people are told: a share of the healthy parameter, kW, a sensor's error."""

import numpy as np

from sevenppb.detect.balance.health import ADDITIVE, Health
from sevenppb.detect.causes import CAUSES
from sevenppb.detect.diagnosis.signatures import Candidate
from sevenppb.detect.physics import heat


def in_unit(candidate: Candidate, size: float, health: Health) -> float:
    """Of a cause, in its unit: the share lost or gained, or kW, never negative. Of a sensor's drift, with its sign:
    a share of the reading or the role's unit."""
    move = candidate.sign * candidate.step * size
    parameter = CAUSES[candidate.cause].parameter
    if parameter is None:
        return float(np.expm1(move)) if candidate.logarithmic else move
    if parameter in ADDITIVE:
        return abs(float(heat.lost(move, health.flow))) / 1000.0
    return abs(float(np.expm1(move)))
