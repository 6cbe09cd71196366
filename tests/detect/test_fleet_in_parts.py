"""A fleet file is read a vessel at a time, and says the same as if it were read whole."""

from pathlib import Path

import pytest
from most_memory import most_memory

from sevenppb.detect import fleet_text
from sevenppb.detect.errors import FleetFault
from sevenppb.detect.fleet import Fleet, read_fleet

OWN = '[fleet]\nname = "Many"\ntimezone = "Europe/Oslo"\nbaseline = ["2025-01-01", "2025-03-31"]\n'
FAULTY = f"""\
{OWN}
display = "metric"
[flet]
[[vessel]]
id = "DA-1"
exports = ["a.csv"]
capacity = "180"
tags = {{ shell_pressure = {{ tag = "P", unit = "kPa abs" }}, storage_temperature = {{ tag = "P", unit = "kPa" }} }}

[[vessel]]
exports = []
[vessel.tags]
shell_presure = {{ tag = "P" }}
[[vessel.work]]
date = 2025-06-14
what = "trays set right"
resets = ["tray"]
[[vessel.work]]
what = "nothing"
resets = ["all"]
  [[ vessel ]]  # the third
id = "da-1"
exprts = ["c.csv"]
[vessel.tags]
shell_pressure = {{ tag = "P", unit = "kPa abs" }}
storage_temperature = {{ tag = "T", unit = "degC" }}
"""


def vessel(number: int) -> str:
    return (
        f'[[vessel]]\nid = "DA-{number}"\nexports = ["{number}.csv"]\n[vessel.tags]\n'
        f'shell_pressure = {{ tag = "PT-{number}", unit = "kPa gauge" }}\n'
        f'storage_temperature = {{ tag = "TT-{number}", unit = "degC" }}\n'
    )


def read(folder: Path, text: str) -> Fleet:
    path = folder / "fleet.toml"
    path.write_bytes(text.encode())
    return read_fleet(path)


def told(folder: Path, text: str) -> list[str]:
    with pytest.raises(FleetFault) as caught:
        read(folder, text)
    return caught.value.sentences


def only_whole(text: str) -> None:
    raise fleet_text.NotInParts


@pytest.mark.parametrize("ends", ["\n", "\r\n"])
def test_faults_are_those_of_the_whole_file(
    ends: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = FAULTY.replace("\n", ends)
    parts = [part.before for part in fleet_text.parts(text)]
    found = told(tmp_path, text)
    monkeypatch.setattr(fleet_text, "parts", only_whole)
    assert parts == [0, 1, 2]
    assert found == told(tmp_path, text)
    assert len(found) == 13
    assert sum("vessel 2" in sentence for sentence in found) == 6


@pytest.mark.parametrize(
    "text",
    [
        vessel(1) + vessel(2) + OWN,  # the fleet's own tables behind
        vessel(1) + OWN + vessel(2),
        OWN + vessel(1).replace("[[vessel]]", '[["vessel"]]') + vessel(2),
    ],
)
def test_another_order_says_the_same(text: str, tmp_path: Path) -> None:
    assert read(tmp_path, text) == read(tmp_path, OWN + vessel(1) + vessel(2))


def test_what_looks_like_a_vessel_may_be_words(tmp_path: Path) -> None:
    worded = '[[vessel.work]]\ndate = 2025-06-14\nresets = ["all"]\nwhat = """\n[[vessel]]\nset right"""\n'
    first, second = read(tmp_path, OWN + vessel(1) + worded + vessel(2)).vessels
    assert first.work[0].what == "[[vessel]]\nset right"
    assert second.id == "DA-2"


def test_another_vessel_costs_a_few_kilobytes_to_read(tmp_path: Path) -> None:
    few, more = 20, 220
    read(tmp_path, OWN + vessel(0))  # what is made once doesn't count
    cost = (most(tmp_path, more) - most(tmp_path, few)) / (more - few)
    assert cost < 3_000  # bytes; as one document, 9,000


def most(folder: Path, count: int) -> int:
    """The most memory [bytes] that reading so many vessels takes."""
    text = OWN + "".join(map(vessel, range(count)))
    return most_memory(lambda: read(folder, text))
