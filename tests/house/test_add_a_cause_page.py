"""The example of a new cause applies to the code as it is, and does what its page says."""

import json
from pathlib import Path

import changed
import pytest

ASK = """
import json
import numpy as np
from sevenppb.detect import causes
from sevenppb.detect.balance.health import Health
from sevenppb.detect.balance.model import Conditions
from sevenppb.detect.diagnosis import signatures
from sevenppb.detect.diagnosis.signatures import Instruments

one = np.ones(2)
at = Conditions(
    flow=30 * one, inlet_temperature=70 * one, shell_pressure=1.6e5 * one, steam_pressure=5e5 * one,
    steam_temperature=160 * one, barometer=101325 * one, vent_valve=one, inlet_oxygen=3000 * one,
    drain_flow=0 * one, drain_temperature=110 * one, makeup_share=np.nan * one,
    scavenger_dose=np.nan * one,
)
features = ("subcooling", "steam_flow", "steam_valve", "outlet_flow", "outlet_oxygen")
found = signatures.signatures(
    at, Health(30, 1.6e5, 5e5, 101325), features, Instruments(frozenset({"steam_flow"}), "inlet_flow", 0.0)
)
moves = {c.name: dict(zip(features, m.tolist())) for c, m in zip(found.candidates, found.moves[0].T)}
print(json.dumps({"file": causes.__file__, "moves": moves}))
"""


@pytest.fixture(scope="module")
def moves(tmp_path_factory: pytest.TempPathFactory) -> dict[str, dict[str, float]]:
    """Signatures by the code with the page's change in it."""
    place = changed.copy("add-a-cause.md", tmp_path_factory.mktemp("changed"))
    answer = json.loads(changed.asked(place, ASK))
    assert Path(answer["file"]).is_relative_to(place)
    found: dict[str, dict[str, float]] = answer["moves"]
    return found


def test_wet_steam_moves_what_the_page_says(moves: dict[str, dict[str, float]]) -> None:
    wet = moves["wet-steam"]
    assert wet["steam_flow"] > 0.1
    assert wet["steam_valve"] > 0.05
    assert 0.0 < wet["outlet_flow"] < wet["steam_flow"]
    assert abs(wet["subcooling"]) < 1e-3


def test_a_steam_meter_that_drifts_moves_only_itself(moves: dict[str, dict[str, float]]) -> None:
    meter = moves["sensor-drift:steam_flow:+"]
    assert meter["steam_flow"] > 0.0
    assert meter["steam_valve"] == meter["outlet_flow"] == 0.0
