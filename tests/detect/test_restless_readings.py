"""A reading that swings from day to day is granted a wander over months, too: its baseline seldom shows it."""

from dataclasses import replace

import diagnosed
import numpy as np
import pytest

from sevenppb.detect.features import WATCHED

READING = "vent_temperature"
RESTLESS = 1.2  # K from day to day, about the line thermometer's idle move


@pytest.fixture(scope="module")
def vessel(made):
    return made["healthy"]


@pytest.fixture(scope="module")
def quiet(vessel):
    return diagnosed.bench(vessel)


@pytest.fixture(scope="module")
def restless(vessel):
    """The same with a thermometer that reads another error each day."""
    hourly = vessel.readings
    day = (hourly.index - hourly.index[0]).days
    error = RESTLESS * np.random.default_rng(1).standard_normal(day[-1] + 1)[day]
    return diagnosed.bench(replace(vessel, readings=hourly.assign(**{READING: hourly[READING] + error})))


def test_only_the_restless_reading_is_granted_more(quiet, restless) -> None:
    f = quiet.days.features.index(READING)
    assert restless.days.tolerance[f] > 1.4 * quiet.days.tolerance[f]
    others = np.arange(len(quiet.days.features)) != f
    np.testing.assert_allclose(restless.days.tolerance[others], quiet.days.tolerance[others], rtol=0.05)


def test_no_reading_is_granted_less_than_such_readings_wander(quiet) -> None:
    usual = [WATCHED[name].tolerance for name in quiet.days.features]
    assert (quiet.days.tolerance >= usual).all()


def test_a_move_that_says_something_of_a_quiet_reading_says_nothing_of_a_restless_one(
    quiet, restless
) -> None:
    moved = quiet.effect(**{READING: -4.5 * WATCHED[READING].tolerance / WATCHED[READING].natural})
    assert quiet.diagnosis(moved).nothing < 0.5 < restless.diagnosis(moved).nothing
