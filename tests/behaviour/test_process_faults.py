"""A clear fault of each process cause, on a vessel with every instrument, is found, dated and named."""

from dataclasses import replace

import made_vessels
import pandas as pd
import pytest

from sevenppb.detect import vessel_scan
from sevenppb.detect.causes import CAUSES
from sevenppb.detect.incidents import urgency

PROCESS = sorted(slug for slug, cause in CAUSES.items() if cause.parameter is not None)
STEPS = ("open-vent", "tray-damage", "air-in-leakage")
RAMPS = ("fouled-sprays", "worn-sprays", "steam-starvation", "heat-loss")


def first(scan):
    assert scan.incidents, "nothing was found"
    return scan.incidents[0]


@pytest.mark.parametrize("cause", PROCESS)
def test_the_right_cause_comes_first(scan_of, cause):
    """Every row of the table of causes: a new row needs its case in made_vessels."""
    found = first(scan_of(cause))
    assert (found.cause, found.role) == (cause, None)
    assert found.confidence == max(found.confidence, *(a.confidence for a in found.alternatives), 0.0)
    assert found.probability > 0.5


@pytest.mark.parametrize("cause", PROCESS)
def test_it_is_flagged_soon_and_not_before_it_began(scan_of, cause):
    found = first(scan_of(cause))
    onset = made_vessels.day(made_vessels.ONSET)
    assert onset <= found.first_flagged <= onset + pd.Timedelta(days=45)


@pytest.mark.parametrize("cause", STEPS)
def test_a_step_is_dated_to_days(scan_of, cause):
    found = first(scan_of(cause))
    assert found.shape == "step"
    assert abs(found.onset - made_vessels.day(made_vessels.ONSET)) <= pd.Timedelta(days=5)


@pytest.mark.parametrize("cause", RAMPS)
def test_a_ramp_is_dated_to_its_first_weeks(scan_of, cause):
    found = first(scan_of(cause))
    assert found.shape == "ramp"
    assert abs(found.onset - made_vessels.day(made_vessels.ONSET)) <= pd.Timedelta(days=15)


def test_what_shows_only_once_a_load_meets_it_may_have_begun_long_before(scan_of):
    """A flooding load that falls: its interval reaches back to the beginning of the watch, where the ramps that show from
    the first day are dated to weeks."""
    scan = scan_of("flooded-trays")
    found = first(scan)
    assert found.onset_interval[0] == scan.baseline[1]
    assert found.onset_interval[0] <= made_vessels.day(made_vessels.ONSET) <= found.onset_interval[1]
    assert found.first_flagged - found.onset_interval[0] > pd.Timedelta(days=45)
    assert found.onset - found.onset_interval[0] > pd.Timedelta(days=30)
    shown = [first(scan_of(cause)) for cause in RAMPS]
    assert all(one.onset - one.onset_interval[0] < pd.Timedelta(days=30) for one in shown)


@pytest.mark.parametrize("cause", PROCESS)
def test_an_incident_says_what_a_person_needs(scan_of, cause):
    found = first(scan_of(cause))
    size = found.magnitude
    assert size.what == CAUSES[cause].what
    assert 0 < size.low < size.value < size.high
    assert size.unit != "fraction" or cause.startswith(("open", "worn", "air")) or size.high < 1
    assert found.onset_interval[0] <= found.onset <= found.onset_interval[1]
    assert found.ended is None
    assert found.state == "new"
    assert 0 < found.urgency <= found.probability <= 1
    assert found.checks == CAUSES[cause].checks
    assert found.cautions == CAUSES[cause].cautions


@pytest.mark.parametrize(
    ("cause", "feature", "sign"),
    [
        ("fouled-sprays", "spray_differential", +1),
        ("worn-sprays", "spray_differential", -1),
        ("choked-vent", "vent_flow", -1),
        ("open-vent", "vent_flow", +1),
        ("steam-starvation", "steam_valve", +1),
        ("tray-damage", "outlet_oxygen", +1),
        ("flooded-trays", "outlet_oxygen", +1),
        ("air-in-leakage", "inlet_oxygen", +1),
        ("heat-loss", "subcooling", +1),
    ],
)
def test_the_evidence_shows_what_moved(scan_of, cause, feature, sign):
    """Observed against expected, and the named cause's own move goes the same way."""
    strongest = first(scan_of(cause)).evidence[:3]
    row = next(row for row in strongest if row.feature == feature)
    assert sign * (row.observed - row.expected) > 0
    assert sign * row.predicted > 0
    assert sign * row.z > 4


def test_bigger_faults_of_one_kind_are_told_as_bigger(scan_of):
    large, small = (first(scan_of(case)).magnitude for case in ("open-vent", "vent opened wider on purpose"))
    assert large.value > 1.2 * small.value


def test_oxygen_over_its_limit_is_a_consequence(made, scan_of):
    """A vessel whose own limit is below what its flooded trays leave in the water."""
    case = made["flooded-trays"]
    vessel = replace(made_vessels.described(case), limits={"outlet_oxygen": 2.0})
    found = first(vessel_scan.scan_vessel(vessel, made_vessels.as_read(case, case.readings)))
    assert found.limit_reached.what == "outlet_oxygen"
    assert found.onset <= found.limit_reached.at
    (row,) = (row for row in found.evidence if row.feature == "outlet_oxygen")
    assert found.consequence.oxygen_excess_ppb == pytest.approx(row.observed - 2.0)
    assert found.consequence.oxygen_added_ppb is None
    under = first(scan_of("flooded-trays"))
    assert under.limit_reached is None
    assert found.urgency > under.urgency > first(scan_of("open-vent")).urgency


def test_a_limit_that_was_passed_before_is_not_passed_by_the_change(made, scan_of):
    """A heat loss that moves no oxygen, on a vessel whose own limit is below what it always holds."""
    case = made["heat-loss"]
    held = first(scan_of("heat-loss"))
    vessel = replace(made_vessels.described(case), limits={"outlet_oxygen": 0.5})
    found = first(vessel_scan.scan_vessel(vessel, made_vessels.as_read(case, case.readings)))
    assert found.limit_reached is None
    assert found.consequence.oxygen_excess_ppb > 0
    (row,) = (row for row in found.evidence if row.feature == "outlet_oxygen")
    added = max(row.observed - row.expected, 0.0)
    assert found.consequence.oxygen_added_ppb == pytest.approx(added)
    steam = 1.0 - held.severity  # the oxygen of this vessel is far from its usual limit
    assert found.severity == pytest.approx(max(1.0 - steam * (1.0 - min(added / 0.25, 1.0)), 0.05), abs=0.01)


def test_a_steam_valve_is_told_as_nearly_open_by_the_change_that_opens_it(scan_of):
    starved = first(scan_of("steam-starvation"))
    (row,) = (row for row in starved.evidence if row.feature == "steam_valve")
    assert max(urgency.NEARLY_OPEN, row.observed) < starved.consequence.valve_open < 1.0
    assert first(scan_of("choked-vent")).consequence.valve_open is None
