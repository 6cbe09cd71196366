"""A fault put into readings moves the residuals as its signature says, hour by hour."""

import made_vessels
import numpy as np
import pandas as pd
import pytest

from sevenppb.detect import features
from sevenppb.detect.balance import conditions, fit, model
from sevenppb.detect.balance.health import Health
from sevenppb.detect.diagnosis import signatures
from sevenppb.detect.diagnosis.signatures import Candidate, Instruments
from sevenppb.detect.features import SWING, WATCHED
from sevenppb.detect.proof.faults import Fault, with_fault
from sevenppb.detect.quality.steady import load_role
from sevenppb.synthetic.simulation import Simulated

DAY = pd.Timedelta(days=1)
HEALTH = Health(flow=60.0, pressure=1.6e5, supply=6.0e5, barometer=101325.0)
NAMES = tuple(f for f in WATCHED if not f.endswith(SWING))


def hours(made: dict[str, Simulated]) -> pd.DataFrame:
    return made["healthy"].readings.iloc[24 * 30 : 24 * 60]


def candidates(hourly: pd.DataFrame) -> tuple[Candidate, ...]:
    return _signed(hourly).candidates


def _signed(hourly: pd.DataFrame) -> signatures.Signatures:
    at, _ = conditions.conditions_of(hourly, hourly["barometric_pressure"])
    roles = frozenset(hourly.columns)
    return signatures.signatures(at, HEALTH, NAMES, Instruments(roles, load_role(hourly), 0.0))


def residuals(hourly: pd.DataFrame, made: Simulated) -> pd.DataFrame:
    vessel = made_vessels.described(made)
    at, _ = conditions.conditions_of(hourly, hourly["barometric_pressure"])
    seen = features.observed(hourly, hourly["barometric_pressure"], vessel)
    return fit.residuals(seen, model.expected(at, HEALTH))


def test_residuals_move_as_the_signature_says(made: dict[str, Simulated]) -> None:
    hourly = hours(made)
    vessel = made_vessels.described(made["healthy"])
    before = residuals(hourly, made["healthy"])
    load = load_role(hourly)
    asked = 0
    for j, candidate in enumerate(candidates(hourly)):
        fault = Fault(candidate, 1.0, hourly.index[0] - 2 * DAY, DAY)  # at full size throughout
        sick = with_fault(hourly, vessel, HEALTH, fault)
        moved = residuals(sick, made["healthy"]) - before
        # the signature's own step, at the conditions as they now read
        told = pd.DataFrame(_signed(sick).moves[:, :, j], index=hourly.index, columns=list(NAMES))
        for name in moved:
            row = WATCHED[name]
            at_floor = row.scale == "log" and (hourly[row.role] < row.floor).any()
            if row.role == load or at_floor:
                continue
            asked += 1
            assert abs(moved[name] - told[name]).max() < 1e-6, (candidate.name, name)
    assert asked > 100


def test_a_fault_grows_from_its_onset_on(made: dict[str, Simulated]) -> None:
    hourly = hours(made)
    candidate = next(c for c in candidates(hourly) if c.cause == "fouled-sprays")
    onset = hourly.index[0] + 10 * DAY
    sick = with_fault(
        hourly, made_vessels.described(made["healthy"]), HEALTH, Fault(candidate, 1.0, onset, 10 * DAY)
    )
    move = np.log(sick["spray_differential"] / hourly["spray_differential"])
    assert (move[:onset] == 0.0).all()
    middle, end = move[onset + 4 * DAY : onset + 6 * DAY].mean(), move[onset + 10 * DAY :].mean()
    assert 0.3 * end < middle < 0.7 * end
    # area to e^-0.4 of its own: the differential rises by the exponent times as much
    assert end == pytest.approx(HEALTH.spray_exponent * 0.4, rel=1e-6)


def test_readings_stay_what_an_instrument_can_show(made: dict[str, Simulated]) -> None:
    hourly = hours(made)
    starved = next(c for c in candidates(hourly) if c.cause == "steam-starvation")
    fault = Fault(starved, 6.0, hourly.index[0] - 2 * DAY, DAY)
    sick = with_fault(hourly, made_vessels.described(made["healthy"]), HEALTH, fault)
    assert sick["steam_valve"].max() == pytest.approx(1.05)
    assert sick["inlet_flow"].equals(hourly["inlet_flow"])
