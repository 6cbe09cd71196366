"""What each explanation of a change weighs before any reading is asked: 1 for a cause in the vessel."""

import numpy as np

from sevenppb.detect.balance.health import BY_LOAD
from sevenppb.detect.causes import CAUSES
from sevenppb.detect.diagnosis.signatures import Candidate, Cause

SENSORS = 2.0  # all sensors together
AGEING = (
    3.0  # of a sensor's prior, where an oxygen analyser reads low: cells wear out; common practice, no source
)
UNEXPLAINED = 0.03
AGAIN = 8.0  # a change already known that grows or goes back, each; or a cause that was mended when it ended
NOTHING = 2.8  # for a budget of one false incident a vessel-year
BUDGET_POWER = 0.4  # with a prior n times as large, healthy made-up plants raise n^-2.4 times as many
LOAD_GAIN = 5.0  # by which what a course with the load gains is divided: many faults show more at high load
MOST_BY_LOAD = 3.0  # and the most that it then counts, a log likelihood


def of(candidate: Candidate, sensors: int, by_load: float, at_work: frozenset[Cause]) -> float:
    """Of one of the candidates, `sensors` of which are sensors', for a change that gains `by_load` in log likelihood by
    showing above some load only. What is `at_work` already weighs AGAIN."""
    prior = 1.0
    if candidate.cause == "sensor-drift":
        prior = SENSORS / max(sensors, 1)
        prior *= AGEING if (candidate.role, candidate.sign) == ("outlet_oxygen", -1) else 1.0
    if (candidate.cause, candidate.role, candidate.sign) in at_work:
        prior = AGAIN
    if CAUSES[candidate.cause].parameter in BY_LOAD:
        prior *= float(np.exp(min(by_load / LOAD_GAIN, MOST_BY_LOAD)))
    return prior


def of_nothing(budget: float) -> float:
    """Where instruments wander, charts cross whatever their thresholds are: the prior of nothing keeps the `budget` of
    false incidents a vessel-year."""
    return float(NOTHING * budget**-BUDGET_POWER)
