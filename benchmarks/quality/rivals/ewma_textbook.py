"""The EWMA charts of ewma_regressions with the limit that a person has without healthy plants to try it on:
from run-length theory, for independent days."""

import pandas as pd

from benchmarks.quality.rivals import daily
from sevenppb.detect.drift import runlength
from sevenppb.detect.settings import DEFAULTS

WEIGHT = 0.1
DAYS = 365.25


def alarms(hours: pd.DataFrame, until: pd.Timestamp) -> pd.Series:
    """The furthest EWMA over the limit at which all of the vessel's charts together should raise no more
    false alarms than sevenppb allows itself."""
    charts = daily.smoothed(daily.load_corrected(hours, until), WEIGHT)
    run_length = DAYS * charts.shape[1] / DEFAULTS.false_alarms
    limit = runlength.ewma_limit(WEIGHT, run_length) * (WEIGHT / (2.0 - WEIGHT)) ** 0.5
    return daily.furthest(charts) / limit
