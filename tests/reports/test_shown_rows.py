import dataclasses

import numpy as np
import pytest
from made_scan import vessel_scan

from sevenppb.reports.numbers import Units
from sevenppb.reports.views.shown import shown_rows


@pytest.fixture
def vessel():
    """It vents 0.02 kg/s in its baseline and half of it in the last month; its mass balance is never read."""
    made = vessel_scan("DA-1", (), 400, np.random.default_rng(1))
    last = np.arange(400) >= 370
    extra = {
        "vent_loss": np.where(last, 0.01, 0.02),
        "vent_loss_sd": np.where(last, 0.002, 0.003),
        "heat_closure": 0.004,
        "mass_closure": np.nan,
    }
    return dataclasses.replace(made, daily=made.daily.assign(**extra))


def test_baseline_and_last_month_in_the_fleets_units(vessel):
    *_, closure, vent = shown_rows(vessel, Units("si"))
    assert (vent.healthy, vent.recent, vent.uncertainty) == (
        "0.072\N{NO-BREAK SPACE}t/h",
        "0.036\N{NO-BREAK SPACE}t/h",
        "0.007\N{NO-BREAK SPACE}t/h",
    )
    assert (closure.healthy, closure.uncertainty) == ("0.400\N{NO-BREAK SPACE}%", "–")
    assert shown_rows(vessel, Units("us"))[-1].recent == "79\N{NO-BREAK SPACE}lb/h"


def test_a_vessel_that_was_not_scanned_shows_nothing(vessel):
    assert shown_rows(dataclasses.replace(vessel, baseline=None), Units("si")) == ()
