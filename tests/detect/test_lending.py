"""What a plant's year of baseline lends: the swing that no balance knows, whatever the vessel, and no fault's."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from made_vessels import as_read, described

from sevenppb.detect import vessel_scan
from sevenppb.detect.features import WATCHED
from sevenppb.detect.incidents.incident import VesselScan
from sevenppb.detect.seasonal import pool, terms
from sevenppb.detect.seasonal.lent import Lent
from sevenppb.synthetic.simulation import FleetPlan, Simulated, simulate

DAY = pd.Timedelta(days=1)
YEAR = 366 * DAY
PLAN = FleetPlan(
    seed=41, vessels=4, healthy=4, roles="all", days=560, step_minutes=60, baseline_days=365, bad_values=False
)
SWING = 0.5  # K, by which every thermometer reads too high in winter and too low in summer
SHARE = SWING / WATCHED["subcooling"].natural


def swinging(made: Simulated) -> Simulated:
    readings = made.readings.copy()
    year = 2 * np.pi * readings.index.day_of_year.to_numpy() / 365.25
    readings["storage_temperature"] += SWING * np.cos(year)
    return replace(made, readings=readings)


def scanned(made: Simulated, baseline: pd.Timedelta, lent: tuple[Lent, ...] = ()) -> VesselScan:
    vessel = replace(described(made), baseline=baseline)
    return vessel_scan.scan_vessel(vessel, as_read(made, made.readings), lent=lent)


def between(made: Simulated, start: pd.Timedelta, end: pd.Timedelta) -> Simulated:
    first = made.readings.index[0]
    inside = (made.readings.index >= first + start) & (made.readings.index < first + end)
    return replace(made, readings=made.readings[inside])


@pytest.fixture(scope="module")
def fleet() -> list[Simulated]:
    return [swinging(made) for made in simulate(PLAN)]


@pytest.fixture(scope="module")
def lent(fleet: list[Simulated]) -> tuple[Lent, ...]:
    """By the first three, as known when their year is over."""
    found = [scanned(between(made, 0 * DAY, YEAR), 365 * DAY).lent for made in fleet[:3]]
    return tuple(one for one in found if one is not None)


def cosine(one: Lent) -> tuple[float, float]:
    effect = next(effect for effect in one.effects if effect.feature == "subcooling")
    return effect.value[0], effect.error[0]


def test_the_swing_is_found_on_every_vessel(lent):
    assert len(lent) == 3
    for one in lent:
        value, error = cosine(one)
        assert value == pytest.approx(-SHARE, abs=0.2)
        assert 0 < error < 0.1


def test_later_days_change_nothing_that_is_lent(fleet, lent):
    assert scanned(fleet[0], 365 * DAY).lent == lent[0]


def test_a_year_that_is_not_over_lends_nothing(fleet):
    assert scanned(between(fleet[0], 0 * DAY, 364 * DAY), 365 * DAY).lent is None
    assert scanned(between(fleet[0], 0 * DAY, YEAR), 340 * DAY).lent is None


def test_the_season_is_taken_out_before_the_balance_is_fitted(fleet, lent):
    """So that the thermometer's swing is no spray's: what a winter says of the vessel's health is nearer to what its own
    whole year says."""
    late = between(fleet[3], YEAR, 560 * DAY)
    alone, borrowing = scanned(late, 120 * DAY), scanned(late, 120 * DAY, lent)
    assert [note for note in borrowing.notes if "is expected as on DA-1, DA-2, DA-3" in note]
    assert borrowing.incidents == ()
    truth = scanned(replace(fleet[3], readings=simulate(PLAN)[3].readings), 365 * DAY)

    def off(found: VesselScan) -> float:
        rows = zip(found.health, truth.health, strict=True)
        return next(abs(one.value - right.value) for one, right in rows if one.parameter == "spray_transfer")

    assert off(borrowing) < 0.5 * off(alone)


def test_a_fault_in_one_lenders_year_stays_with_it(fleet, lent):
    """A thermometer that drifts by 2 K through the baseline looks like a season, but not like the others'."""
    sick = fleet[0].readings.copy()
    sick["storage_temperature"] += np.clip(np.arange(len(sick)) / (24 * 300), 0, 1) * 2.0
    wrong = scanned(between(replace(fleet[0], readings=sick), 0 * DAY, YEAR), 365 * DAY).lent
    others = (*lent[1:], scanned(between(fleet[3], 0 * DAY, YEAR), 365 * DAY).lent)
    clean, mixed = (pool.pooled((first, *others))["subcooling"] for first in (lent[0], wrong))
    stated = np.array(terms.YEARLY_PRIOR)
    assert np.all(abs(clean.mean - mixed.mean) < 0.5 * stated)
    assert np.all(mixed.sd <= stated)
