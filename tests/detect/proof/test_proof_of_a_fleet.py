"""A proof from end to end, on a small vessel in memory: large faults found, small ones missed, the same
every time."""

from dataclasses import replace
from pathlib import Path

import made_vessels
import numpy as np
import pandas as pd
import pytest

from sevenppb.detect import prove
from sevenppb.detect.errors import FleetFault, VesselFault
from sevenppb.detect.exports import read
from sevenppb.detect.fleet import Fleet, Vessel
from sevenppb.detect.proof import trials
from sevenppb.detect.proof.records import FleetProof
from sevenppb.detect.quality.readings import Readings
from sevenppb.synthetic.simulation import Simulated

ROLES = ["shell_pressure", "storage_temperature", "inlet_flow", "inlet_temperature", "spray_differential"]


@pytest.fixture(scope="module")
def fleet(made: dict[str, Simulated]) -> Fleet:
    vessel = replace(made_vessels.described(made["healthy"]), baseline=pd.Timedelta(days=60))
    return Fleet("Made-up", Path("fleet.toml"), "UTC", "si", None, (replace(vessel, id="GONE"), vessel))


@pytest.fixture(autouse=True)
def _read(made: dict[str, Simulated], monkeypatch: pytest.MonkeyPatch) -> None:
    def readings(vessel: Vessel, *_: object) -> Readings:
        if vessel.id == "GONE":
            raise VesselFault("GONE: no export. Look at its paths.")
        hourly = made["healthy"].readings[ROLES].iloc[: 24 * 100]
        nothing = pd.DataFrame(np.nan, index=hourly.index, columns=ROLES)
        return Readings(vessel.id, hourly, nothing, nothing, pd.DataFrame(), hourly.size, ())

    monkeypatch.setattr(read, "read_vessel", readings)


@pytest.fixture(scope="module")
def proofs() -> dict[int, FleetProof]:
    return {}


def proof(fleet: Fleet, proofs: dict[int, FleetProof], seed: int = 1) -> FleetProof:
    if seed not in proofs:
        proofs[seed] = prove.prove_fleet(fleet, trials_each=3, seed=seed)
    return proofs[seed]


def test_faults_of_the_sprays_are_found_when_large(fleet: Fleet, proofs: dict[int, FleetProof]) -> None:
    told = {row.cause: row for row in proof(fleet, proofs).vessels[1].causes}
    for cause in ("fouled-sprays", "worn-sprays"):
        row = told[cause]
        assert row.trials[-1].found
        assert row.trials[-1].named
        assert row.smallest.low < row.trials[-1].size
        assert row.days is not None
        assert 0 < row.days <= trials.WITHIN_DAYS + 1
        assert [t.size for t in row.trials] == sorted(t.size for t in row.trials)
        assert 0.0 < row.trials[0].size < 0.2


def test_sensors_are_tried_among_those_recorded(fleet: Fleet, proofs: dict[int, FleetProof]) -> None:
    row = next(r for r in proof(fleet, proofs).vessels[1].causes if r.cause == "sensor-drift")
    assert {t.role for t in row.trials} <= set(ROLES)
    assert row.unit == trials.SENSOR_UNIT


def test_causes_without_a_tag_are_not_tried(fleet: Fleet, proofs: dict[int, FleetProof]) -> None:
    vessel = proof(fleet, proofs).vessels[1]
    assert "choked-vent" in vessel.unseen
    assert not {row.cause for row in vessel.causes} & set(vessel.unseen)


def test_untouched_copies_are_watched_too(fleet: Fleet, proofs: dict[int, FleetProof]) -> None:
    vessel = proof(fleet, proofs).vessels[1]
    assert (vessel.untouched, vessel.false) == (3, 0)
    assert vessel.years == pytest.approx(3 * trials.WATCHED_DAYS / 365.25)


def test_a_vessel_that_cannot_be_read_says_so_and_the_rest_goes_on(
    fleet: Fleet, proofs: dict[int, FleetProof]
) -> None:
    gone, other = proof(fleet, proofs).vessels
    assert (gone.state, gone.error) == ("failed", "GONE: no export. Look at its paths.")
    assert other.state == "scanned"


def test_a_seed_and_the_place_in_the_fleet_fix_all(fleet: Fleet, proofs: dict[int, FleetProof]) -> None:
    seen: list[str] = []
    again = prove.prove_fleet(
        fleet,
        vessels=("healthy",),
        trials_each=3,
        seed=1,
        progress=lambda what, done, total: seen.append(f"{what} {done}/{total}"),
    )
    assert again.vessels[0] == proof(fleet, proofs).vessels[1]
    assert seen[0] == "reading healthy 1/1"
    assert seen[-1].startswith("trials on healthy")


def test_a_name_that_is_no_vessel_is_refused(fleet: Fleet) -> None:
    with pytest.raises(FleetFault, match='no vessel "DA-9"'):
        prove.prove_fleet(fleet, vessels=("DA-9",))
