"""A fleet of any size out of five exports."""

import tomllib
from pathlib import Path

import pytest

from benchmarks import memory


def made(folder: Path, vessels: int, days: int) -> Path:
    """In place of simulated exports: their fleet file alone."""
    blocks = [
        f'[[vessel]]\nid = "V-{n}"\nexports = ["V-{n}.parquet"]\n\n[vessel.tags]\nx = "level"\n\n'
        for n in range(vessels)
    ]
    path = folder / f"{vessels}x{days}" / "fleet.toml"
    path.parent.mkdir(exist_ok=True)
    path.write_text(f'[fleet]\nname = "A"\nbaseline = ["first of {days}", "last"]\n\n{"".join(blocks)}')
    return path


@pytest.mark.parametrize("vessels", [1, 2, memory.EVERY + 1])
def test_every_so_many_vessels_read_the_year_and_the_others_the_quarters(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, vessels: int
) -> None:
    monkeypatch.setattr("benchmarks.made_exports.made", made)
    told = tomllib.loads(memory.fleet_file(tmp_path, vessels).read_text())
    assert len({vessel["id"] for vessel in told["vessel"]}) == vessels
    for n, vessel in enumerate(told["vessel"]):
        days = memory.DAYS if n % memory.EVERY else memory.YEAR
        assert vessel["exports"][0].startswith(f"{memory.QUIET if n % memory.EVERY else 1}x{days}/")
        assert vessel.get("baseline", told["fleet"]["baseline"])[0] == f"first of {days}"
