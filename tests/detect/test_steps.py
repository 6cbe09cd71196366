"""The steps by themselves give what the scan, which takes them together, tells."""

from dataclasses import replace

import diagnosed
import made_vessels
import numpy as np
import pytest

from sevenppb import detect
from sevenppb.detect.diagnosis import work_done
from sevenppb.detect.fleet import Work

CAUSE = "fouled-sprays"
BASELINE = (made_vessels.START, made_vessels.day(made_vessels.BASELINE))


@pytest.fixture(scope="module")
def vessel_and_readings(made):
    return made_vessels.described(made[CAUSE]), made_vessels.as_read(made[CAUSE], made[CAUSE].readings)


@pytest.fixture(scope="module")
def marks(vessel_and_readings):
    return detect.hour_marks(*vessel_and_readings)


@pytest.fixture(scope="module")
def days(vessel_and_readings, marks):
    return detect.residual_days(*vessel_and_readings, marks, BASELINE)[0]


def test_marks_leave_the_hours_that_the_scan_uses(marks, scan_of) -> None:
    used = int((~marks.any(axis=1)).sum())
    cut = {str(reason): int(marks[reason].sum()) for reason in marks}
    assert cut | {"used": used} == scan_of(CAUSE).marks


def test_days_are_the_rows_of_the_scans_table(days, scan_of) -> None:
    daily = scan_of(CAUSE).daily
    np.testing.assert_array_equal(daily["hours"], days.hours)
    f = days.features.index("subcooling")
    np.testing.assert_allclose(daily["observed_subcooling"], days.residual[:, f] + days.balance[:, f])


def test_episodes_are_the_scans_incidents(vessel_and_readings, days, scan_of) -> None:
    found = detect.find_episodes(*vessel_and_readings, days)
    told = sorted(scan_of(CAUSE).incidents, key=lambda incident: incident.first_flagged)
    assert [(e.diagnosis.explanations[0].cause, days.index[e.change.onset]) for e in found.episodes] == [
        (incident.cause, incident.onset) for incident in told
    ]
    assert CAUSE in {incident.cause for incident in told}


def test_days_without_a_baseline_are_refused(vessel_and_readings, days) -> None:
    none = replace(days, baseline=np.zeros(len(days.index), dtype=bool))
    with pytest.raises(ValueError, match="no day is in the baseline"):
        detect.find_episodes(*vessel_and_readings, none)


def test_work_gives_a_fresh_level_to_what_it_can_move_and_to_nothing_else(made) -> None:
    bench = diagnosed.bench(made[CAUSE])

    def breaks(day: float, reset: str):
        return work_done.breaks((Work(made_vessels.day(day), "", (reset,)),), bench.days, bench.signed)

    def touched(reset: str) -> set[str]:
        (only,) = breaks(250.5, reset)
        assert (only.moving, only.done, only.day) == (250, 250, 253)
        return {f for f, yes in zip(bench.days.features, only.features, strict=True) if yes}

    assert "spray_differential" in touched("sprays")
    assert "spray_differential" not in touched("vent")
    assert "vent_flow" in touched("vent")
    assert touched("sensor:outlet_flow") == {"outlet_flow"}
    assert touched("all") == set(bench.days.features)
    mends = [
        {name[:2] for name in breaks(250.5, reset)[0].mends} for reset in ("trays", "sensor:vent_flow", "all")
    ]
    assert mends == [
        {("tray-damage", None), ("flooded-trays", None)},
        {("sensor-drift", "vent_flow")},
        set(),
    ]
    (east,) = breaks(250.0 - 2 / 24, "all")  # midnight of a plant two hours ahead
    assert (east.moving, east.done, east.day) == (249, 250, 252)
    assert breaks(-1.0, "all") == breaks(0.5, "all") == breaks(made_vessels.DAYS + 1.0, "all") == ()
