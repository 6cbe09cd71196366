"""The example of a new role applies to the code as it is, and does what its page says."""

import json
from pathlib import Path
from typing import Any

import changed
import pytest

FLEET = """
[fleet]
name = "Northmere heating plant"
[[vessel]]
id = "DA-1"
exports = ["a.csv"]
[vessel.tags]
shell_pressure = { tag = "PT-101", unit = "kPa gauge" }
storage_temperature = { tag = "TT-103", unit = "degC" }
suction_pressure = { tag = "PT-140", unit = "kPa abs" }
"""
ASK = """
import json
from pathlib import Path

import pandas as pd
from sevenppb.detect import fleet, roles, shown
from sevenppb.detect.exports import guess
from sevenppb.detect.exports.guess import Seen

vessel = fleet.read_fleet(Path("fleet.toml")).vessels[0]
hourly = pd.DataFrame(
    {"shell_pressure": [1.36e5], "storage_temperature": [108.0], "suction_pressure": [1.70e5]},
    index=pd.date_range("2025-01-01", periods=1, freq="h", tz="UTC"),
)
air = pd.Series(101325.0, index=hourly.index)
seen = Seen("PT-140", "kPa abs", "Boiler feed pump suction", 160.0, 170.0, 180.0)
print(json.dumps({
    "file": roles.__file__,
    "tags": sorted(vessel.tags),
    "guess": guess.guesses(seen, {})[0].role,
    "shown": shown.shown(hourly, air, vessel).iloc[0].to_dict(),
    "without": sorted(shown.shown(hourly.drop(columns="suction_pressure"), air, vessel)),
}))
"""


@pytest.fixture(scope="module")
def answer(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    place = changed.copy("add-a-role.md", tmp_path_factory.mktemp("changed"))
    (place.parent / "fleet.toml").write_text(FLEET, encoding="utf-8")
    found: dict[str, Any] = json.loads(changed.asked(place, ASK))
    assert Path(found["file"]).is_relative_to(place)
    return found


def test_the_fleet_file_and_the_draft_know_the_role(answer: dict[str, Any]) -> None:
    assert "suction_pressure" in answer["tags"]
    assert answer["guess"] == "suction_pressure"


def test_suction_over_boiling_is_what_the_page_works_out(answer: dict[str, Any]) -> None:
    # water at 108 degC boils at 134.0 kPa
    assert answer["shown"]["suction_over_boiling"] == pytest.approx(36.0e3, abs=100)
    assert 1500.0 < answer["shown"]["suction_over_boiling_sd"] < 1700.0
    assert not [name for name in answer["without"] if name.startswith("suction")]
