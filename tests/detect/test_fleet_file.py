"""The fleet file: what a right one says, and that every fault of a wrong one is told at once, with its line."""

from pathlib import Path

import pandas as pd
import pytest

from sevenppb.detect.errors import FleetFault
from sevenppb.detect.fleet import read_fleet

GOOD = """\
[fleet]
name = "Northmere heating plant"
timezone = "Europe/Oslo"
display = "si"
baseline = "90 days"
[fleet.cost]
steam = 28.0
currency = "EUR"

[[vessel]]
id = "DA-1"
exports = ["exports/da1-*.parquet", "file:///data/da1.csv"]
capacity = "180 t/h"
baseline = ["2025-01-01", "2025-03-31"]
barometer = "101.3 kPa"
vent_bore = "12 mm"
[vessel.limits]
outlet_oxygen = "7 ppb"
subcooling = "2 delta_degC"
[vessel.tags]
shell_pressure      = { tag = "PT-101", unit = "kPa gauge" }
storage_temperature = { tag = "TT-103" }
[[vessel.work]]
date = 2025-06-14
what = "spray nozzles cleaned"
resets = ["sprays", "sensor:outlet_oxygen"]

[[vessel]]
id = "DA-2"
exports = ["da2.csv"]
layout = "long"
[vessel.tags]
shell_pressure = { tag = "PT-201", unit = "psig" }
storage_temperature = { tag = "TT-203", unit = "DEG F" }
"""


def written(folder: Path, text: str, encoding: str = "utf-8") -> Path:
    path = folder / "fleet.toml"
    path.write_text(text, encoding=encoding)
    return path


def faults(folder: Path, text: str) -> list[str]:
    with pytest.raises(FleetFault) as caught:
        read_fleet(written(folder, text))
    return [s.replace(f"{folder}/", "") for s in caught.value.sentences]


def one_fault(folder: Path, old: str, new: str) -> str:
    assert old in GOOD
    found = faults(folder, GOOD.replace(old, new, 1))
    assert len(found) == 1, found
    return found[0]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig"])
def test_a_right_file(tmp_path: Path, encoding: str) -> None:
    fleet = read_fleet(written(tmp_path, GOOD, encoding))
    first, second = fleet.vessels
    assert (fleet.name, fleet.timezone, fleet.display) == ("Northmere heating plant", "Europe/Oslo", "si")
    assert fleet.cost is not None
    assert (fleet.cost.steam, fleet.cost.currency) == (28.0, "EUR")
    assert first.exports == (str(tmp_path / "exports/da1-*.parquet"), "file:///data/da1.csv")
    assert (first.capacity, first.barometer, first.vent_bore) == (50.0, 101300.0, 0.012)
    assert first.limits == {"outlet_oxygen": 7.0, "subcooling": 2.0}
    assert first.tags["storage_temperature"].unit is None
    assert second.layout == "long"
    assert second.barometer == 101325.0


def test_days_are_the_fleets_own(tmp_path: Path) -> None:
    first, second = read_fleet(written(tmp_path, GOOD)).vessels
    # midnight of winter and of summer in Oslo; the last day counts whole
    assert first.baseline == (pd.Timestamp("2024-12-31T23:00Z"), pd.Timestamp("2025-03-31T22:00Z"))
    assert first.work[0].date == pd.Timestamp("2025-06-13T22:00Z")
    assert second.baseline == pd.Timedelta(days=90)


def test_the_fleets_order_of_dates_is_its_vessels_unless_they_name_one(tmp_path: Path) -> None:
    text = GOOD.replace('display = "si"', 'dates = "day first"').replace(
        'layout = "long"', 'dates = "month first"'
    )
    assert [v.dates for v in read_fleet(written(tmp_path, text)).vessels] == ["day first", "month first"]
    assert {v.dates for v in read_fleet(written(tmp_path, GOOD)).vessels} == {"auto"}


def test_a_path_like_a_relative_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    written(tmp_path, GOOD)
    monkeypatch.chdir(tmp_path)
    assert read_fleet(Path("fleet.toml")).vessels[1].exports == (str(tmp_path / "da2.csv"),)


def with_register(folder: Path, name: str) -> Path:
    return written(folder, GOOD.replace('display = "si"', f'register = "{name}"'))


def test_the_register_lies_beneath_the_fleet_file(tmp_path: Path) -> None:
    assert read_fleet(written(tmp_path, GOOD)).register is None
    found = read_fleet(with_register(tmp_path, "kept/incidents.sqlite")).register
    assert found == tmp_path / "kept" / "incidents.sqlite"
    (tmp_path / "kept").mkdir()
    with pytest.raises(FleetFault, match=r'fleet.register: "kept" is a folder. Name a file in it.'):
        read_fleet(with_register(tmp_path, "kept"))


def test_no_link_leads_the_register_out_of_the_folder(tmp_path: Path) -> None:
    inside = tmp_path / "inside"
    inside.mkdir()
    try:
        (inside / "out").symlink_to(tmp_path, target_is_directory=True)
    except OSError:
        pytest.skip("this account may make no links")
    with pytest.raises(FleetFault, match="does not lie beneath"):
        read_fleet(with_register(inside, "out/kept.sqlite"))


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        (
            'name = "Northmere heating plant"',
            "name = 3",
            "fleet.toml:2: fleet.name: must be text in quotes (found 3).",
        ),
        (
            "Europe/Oslo",
            "Europe/Olso",
            'fleet.toml:3: fleet.timezone: "Europe/Olso" is no IANA timezone. Did you mean "Europe/Oslo"?',
        ),
        (
            'display = "si"',
            'dsplay = "si"',
            'fleet.toml:4: fleet.dsplay: is not a setting here. Did you mean "display"?',
        ),
        (
            'display = "si"',
            'display = "metric"',
            "fleet.toml:4: fleet.display: must be one of si, us (found 'metric').",
        ),
        (
            '"90 days"',
            '"ninety"',
            "fleet.toml:5: fleet.baseline: 'ninety' is neither a length nor two dates.",
        ),
        ('display = "si"', "register = 3", "fleet.toml:4: fleet.register: must be text in quotes (found 3)."),
        ('display = "si"', 'register = ""', "fleet.toml:4: fleet.register: can't be empty."),
        ('display = "si"', 'regster = "a"', 'fleet.regster: is not a setting here. Did you mean "register"?'),
        (
            'display = "si"',
            'register = "../kept.sqlite"',
            'fleet.toml:4: fleet.register: "../kept.sqlite" does not lie beneath the fleet file\'s folder. '
            'Write a path from there, such as "register.sqlite".',
        ),
        ('display = "si"', 'register = "/kept.sqlite"', "does not lie beneath the fleet file's folder"),
        ('display = "si"', 'register = "."', "does not lie beneath the fleet file's folder"),
        ("28.0", "-1", "fleet.toml:7: fleet.cost.steam: must be more than 0"),
        ("28.0", "nan", "fleet.toml:7: fleet.cost.steam: must be a finite number"),
        ("28.0", '"28"', "fleet.toml:7: fleet.cost.steam: must be a number (found '28')."),
        ('id = "DA-1"', 'id = "DA/1"', 'fleet.toml:11: vessel "DA/1", id: may hold letters'),
        ('id = "DA-2"', 'id = "da-1"', 'vessel "da-1", id: this id is already used in line 11.'),
        (
            '"180 t/h"',
            '"180"',
            'fleet.toml:13: vessel "DA-1", capacity: "180" is not a number with a unit. Write it like "180 t/h"',
        ),
        ('"180 t/h"', '"0 t/h"', "must be more than zero"),
        (
            '"2025-03-31"]',
            '"2024-03-31"]',
            'fleet.toml:14: vessel "DA-1", baseline: ends (2024-03-31) before it begins',
        ),
        ('"2025-03-31"]', '"2025-02-30"]', '"2025-02-30" is no date. Write it like 2025-03-31.'),
        ('"101.3 kPa"', '"14.7 kPa"', "14.7 kPa is no air pressure on land: it is 60 to 110 kPa."),
        ('"101.3 kPa"', '"101.3 kPa gauge"', "can't be a barometer's"),
        ('"12 mm"', '"12 ppb"', "unit of oxygen, but one of length is needed"),
        (
            "outlet_oxygen = ",
            "outlet_oxigen = ",
            'fleet.toml:18: vessel "DA-1", limits.outlet_oxigen: "outlet_oxigen" can have no limit. Did you mean "outlet_oxygen"?',
        ),
        ('"2 delta_degC"', '"2 degC"', "one of temperature difference is needed"),
        (
            "shell_pressure      =",
            "shell_presure =",
            'fleet.toml:21: vessel "DA-1", tags.shell_presure: "shell_presure" is no role. Did you mean "shell_pressure"?',
        ),
        (
            'unit = "kPa gauge"',
            'unit = "kPa"',
            'fleet.toml:21: vessel "DA-1", tags.shell_pressure: unit "kPa" doesn\'t say: gauge or abs?',
        ),
        ('unit = "kPa gauge"', 'unit = "degC"', "one of pressure is needed"),
        (
            'unit = "kPa gauge"',
            'uint = "kPa gauge"',
            'tags.shell_pressure.uint: is not a setting here. Did you mean "unit"?',
        ),
        (
            '{ tag = "TT-103" }',
            '"TT-103"',
            'tags.storage_temperature: must be a table, written like { tag = "TT-103", unit = "..." }.',
        ),
        ('{ tag = "TT-103" }', '{ tag = "PT-101" }', 'tag "PT-101" already stands for shell_pressure.'),
        (
            "storage_temperature = { tag",
            "steam_temperature = { tag",
            "storage_temperature is needed but not there. Add",
        ),
        ("date = 2025-06-14", 'date = "14 June"', '"14 June" is no date.'),
        ("date = 2025-06-14", "date = 1025-06-14", "is no plausible date"),
        ('"sensor:outlet_oxygen"', '"sensor:oxygen"', '"oxygen" is no role. Did you mean'),
        ('["sprays", ', '["spray", ', '"spray" is nothing that work resets. Did you mean "sprays"?'),
        ('layout = "long"', 'layout = "tall"', "must be one of auto, wide, long"),
        (
            'layout = "long"',
            'dates = "dmy"',
            "dates: must be one of auto, day first, month first (found 'dmy').",
        ),
        (
            'display = "si"',
            "dates = 3",
            "fleet.dates: must be one of auto, day first, month first (found 3).",
        ),
        (
            'exports = ["da2.csv"]',
            'exports = "da2.csv"',
            "exports: must be a list in [brackets] (found 'da2.csv').",
        ),
        ('exports = ["da2.csv"]', "exports = []", "exports: can't be empty."),
        ('exports = ["da2.csv"]', "", 'vessel "DA-2", exports: is needed but not there.'),
    ],
)
def test_one_fault_is_one_sentence(tmp_path: Path, old: str, new: str, told: str) -> None:
    assert told in one_fault(tmp_path, old, new)


def test_all_faults_come_at_once_in_the_files_order(tmp_path: Path) -> None:
    text = (
        GOOD.replace("Europe/Oslo", "Mars")
        .replace('"180 t/h"', '"180 x/h"')
        .replace('unit = "psig"', 'unit = "psi"')
    )
    found = faults(tmp_path, text)
    assert [s.split(":")[1] for s in found] == ["3", "13", str(1 + text[: text.index('"psi"')].count("\n"))]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("[fleet\n", "fleet.toml:1: is not valid TOML"),
        ('[fleet]\nname = "a\n', "fleet.toml:2: is not valid TOML"),
        ("[fleet]\nname = 'x'\nday = 2025-02-30\n", "fleet.toml:3: is not valid TOML"),
        ("", "vessel: is needed but not there."),
        ("[fleet]\nname = 'x'\n[[vesel]]\nid='a'\n", 'vesel: is not a setting here. Did you mean "vessel"?'),
        ("vessel = 3\n[fleet]\nname = 'x'\n", "vessel: must be a list"),
        ("vessel = []\n[fleet]\nname = 'x'\n", "vessel: can't be empty."),
    ],
)
def test_broken_files(tmp_path: Path, text: str, told: str) -> None:
    assert any(told in sentence for sentence in faults(tmp_path, text))


def test_no_file_and_no_text(tmp_path: Path) -> None:
    with pytest.raises(FleetFault, match="can't be read"):
        read_fleet(tmp_path / "none.toml")
    (tmp_path / "fleet.toml").write_bytes(b"\xff\xfe\x00[")
    with pytest.raises(FleetFault, match="Save the fleet file as UTF-8"):
        read_fleet(tmp_path / "fleet.toml")


@pytest.mark.parametrize("length", ["0 days", "40000 days", "9" * 5000 + " weeks"])
def test_a_baseline_of_no_length_or_of_ages_is_told(tmp_path: Path, length: str) -> None:
    text = GOOD.replace('baseline = "90 days"', f'baseline = "{length}"')
    with pytest.raises(
        FleetFault, match=r"fleet\.baseline: must be more than nothing and at most 36525 days\."
    ):
        read_fleet(written(tmp_path, text))
