"""A made-up vessel through the whole scan: what is shown beside the watched features, and what is noted."""

from dataclasses import replace

import made_vessels
import numpy as np
import pandas as pd
import pytest

from sevenppb.detect import vessel_scan
from sevenppb.detect.fleet import Vessel
from sevenppb.detect.incidents.incident import VesselScan
from sevenppb.detect.quality.readings import Readings
from sevenppb.detect.shown import SHOWN
from sevenppb.detect.vessel_scan import scan_vessel
from sevenppb.synthetic.faults import Fault
from sevenppb.synthetic.simulation import FleetPlan, PlannedFault, simulate

FOULED, LYING = 120, 140  # days on which 40 % of the spray area is lost, and on which a meter begins to lie


@pytest.fixture(scope="module")
def scan() -> VesselScan:
    fault = Fault("fouled-sprays", FOULED, FOULED, None, "step", 0.4, "fraction")
    plan = FleetPlan(
        seed=3,
        vessels=1,
        faults=(PlannedFault(0, fault),),
        days=190,
        step_minutes=60,
        roles="all",
        bad_values=False,
    )
    (made,) = simulate(plan, hourly=True)
    hourly = made.readings
    hourly.loc[hourly.index >= hourly.index[0] + pd.Timedelta(days=LYING), "outlet_flow"] *= 1.08
    vessel = Vessel("DA-1", (), "auto", {}, None, None, made.spec.barometer, 0.012, {}, ())
    count = hourly.notna().astype(int)
    read = Readings("DA-1", hourly, 0.0 * hourly, count, pd.DataFrame(), int(count.to_numpy().sum()), ())
    return scan_vessel(vessel, read)


def test_spray_area_lost_is_read_off_the_healthy_curve(scan):
    openness = scan.daily["spray_openness"]
    assert abs(openness.iloc[: FOULED - 1].median() - 1.0) < 0.02
    assert abs(openness.iloc[FOULED + 1 :].median() - 0.6) < 0.06


def test_every_shown_column_has_its_unit(scan):
    shown = [name for name in SHOWN if name in scan.daily]
    assert {"heat_closure", "mass_closure", "vent_by_orifice", "vent_loss_sd"} <= set(shown)
    assert {name: scan.units[name] for name in shown} == {name: SHOWN[name].unit for name in shown}


def test_balances_close_within_their_uncertainty_until_a_meter_lies(scan):
    heat, mass = (
        scan.daily[f"{name}_closure"] / scan.daily[f"{name}_closure_sd"] for name in ("heat", "mass")
    )
    assert abs(heat.iloc[: LYING - 1]).max() < 3.0
    assert abs(mass.iloc[: LYING - 1]).max() < 3.0
    assert mass.iloc[LYING + 1 :].max() < -3.0


def test_the_lying_meter_is_noted(scan):
    (note,) = [note for note in scan.notes if "contradict the balances" in note]
    assert "an error of the outlet water flow would explain it" in note


def test_no_valve_is_expected_to_open_beyond_its_travel(made, monkeypatch):
    """Days whose load would ask for more than the whole valve."""
    table = vessel_scan.daily_table

    def asked_for_more(days, *others):
        more = days.balance + np.where(np.array(days.features) == "steam_valve", 1.0, 0.0)
        return table(replace(days, balance=more), *others)

    monkeypatch.setattr(vessel_scan, "daily_table", asked_for_more)
    expected = made_vessels.scanned(made["healthy"]).daily["expected_steam_valve"]
    assert expected.notna().any()
    assert (expected.dropna() == 1.0).all()
