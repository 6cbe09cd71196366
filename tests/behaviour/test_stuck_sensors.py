"""A reading that stands still while the vessel moves is told, from exports to incident."""

from dataclasses import replace

import exported
import made_vessels
import pandas as pd
import pytest

from sevenppb.detect import vessel_scan
from sevenppb.synthetic.faults import Fault
from sevenppb.synthetic.simulation import PlannedFault, simulate

DAY = pd.Timedelta(days=1)
ROLE, BASELINE, STUCK = "outlet_oxygen", 80, 95.0


def scan_of_stuck(folder, days):
    """Readings every twenty minutes; the analyser shows one value for so many days."""
    fault = Fault("sensor-stuck", STUCK, STUCK, STUCK + days, "step", 0.0, "", ROLE)
    plan = replace(
        made_vessels.PLAN,
        vessels=1,
        days=130,
        step_minutes=20,
        baseline_days=BASELINE,
        faults=(PlannedFault(0, fault),),
        roles="usual",
    )
    (made,) = simulate(plan)
    vessel = replace(exported.written(folder, made, "wide-parquet"), baseline=pd.Timedelta(days=BASELINE))
    return vessel_scan.scan_vessel(vessel, exported.read(vessel)), made


@pytest.fixture(scope="module")
def stuck(tmp_path_factory):
    return scan_of_stuck(tmp_path_factory.mktemp("stuck"), 20)


def test_it_is_told_with_its_value_and_days(stuck):
    found, made = stuck
    told = [i for i in found.incidents if i.cause == "sensor-stuck"]
    assert [i.role for i in told] == [ROLE]
    onset = made_vessels.day(STUCK)
    shown = made.readings.loc[onset + 5 * DAY, ROLE]
    assert told[0].magnitude.value == pytest.approx(shown, rel=0.01)
    assert abs(told[0].onset - onset) <= DAY
    assert onset < told[0].first_flagged <= onset + 6 * DAY
    assert abs(told[0].ended - (onset + 20 * DAY)) <= DAY
    assert told[0].state == "eased"


def test_it_is_the_only_thing_told(stuck):
    """What stood still is not used, so nothing else seems to have moved."""
    assert [i.cause for i in stuck[0].incidents] == ["sensor-stuck"]


def test_its_hours_are_counted_and_not_watched(stuck):
    found, _ = stuck
    assert found.tally.loc[ROLE, "frozen"] >= 19 * 72
    middle = made_vessels.day(STUCK + 10)
    assert found.daily.loc[middle : middle + 5 * DAY, f"observed_{ROLE}"].isna().all()


def test_a_day_of_standing_still_is_no_incident(tmp_path):
    found, _ = scan_of_stuck(tmp_path, 1)
    assert found.incidents == ()
