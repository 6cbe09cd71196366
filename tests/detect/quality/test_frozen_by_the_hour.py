"""A tag with one reading an hour that froze is found by its own habits, as one by the minute is."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from sevenppb.detect.exports.read import read_vessel
from sevenppb.detect.fleet import Fleet, TagRef, Vessel
from sevenppb.detect.quality import judge
from sevenppb.detect.quality.readings import Readings

TAGS = {
    "shell_pressure": TagRef("PT-101", "kPa gauge"),
    "storage_temperature": TagRef("TT-103", "degC"),
    "outlet_flow": TagRef("FT-110", "t/h"),
}


def read(folder: Path, *frozen: slice, decimals: int = 2) -> Readings:
    rng = np.random.default_rng(5)
    index = pd.date_range("2025-01-01", periods=24 * 120, freq="h", tz="UTC", name="time")
    slow = np.sin(np.arange(len(index)) / 50.0)
    frame = pd.DataFrame(
        {
            "PT-101": np.round(60 + 5 * slow + rng.normal(0, 0.5, len(index)), decimals),
            "TT-103": np.round(112 + 2 * slow + rng.normal(0, 0.2, len(index)), decimals),
            "FT-110": np.round(150 + 30 * slow + rng.normal(0, 3, len(index)), decimals),
        },
        index=index,
    )
    for rows in frozen:
        frame.iloc[rows, 1] = frame.iloc[rows.start, 1]
    frame.to_csv(folder / "hourly.csv")
    vessel = Vessel("DA-1", (str(folder / "hourly.csv"),), "auto", TAGS, None, None, 101325.0, None, {}, ())
    return read_vessel(vessel, Fleet("Northmere", folder / "f.toml", "UTC", "si", None, ()), None, None)


def test_three_days_are_found_cut_and_told(tmp_path: Path) -> None:
    got = read(tmp_path, slice(1000, 1072))
    assert got.tally.loc["storage_temperature", "frozen"] == 72
    assert [s.role for s in got.stuck] == ["storage_temperature"]
    assert any("storage_temperature stood exactly still" in note for note in got.notes)


def test_a_tag_that_froze_twice_has_one_note(tmp_path: Path) -> None:
    got = read(tmp_path, slice(1000, 1072), slice(2000, 2072))
    assert len(got.stuck) == 2
    notes = [note for note in got.notes if "stood exactly still" in note]
    assert len(notes) == 1
    assert (
        "from 2025-02-11 16:00 to 2025-02-14 15:00, from 2025-03-25 08:00 to 2025-03-28 07:00 (UTC)"
        in notes[0]
    )


@pytest.mark.parametrize(("times", "last"), [(3, "c"), (4, "c and once more"), (6, "c and 3 more times")])
def test_a_note_tells_the_first_few_and_counts_the_rest(times: int, last: str) -> None:
    told = judge._still("level", list("abcdef")[:times], judge._STILL)
    assert told == f"level stood exactly still a, b, {last} (UTC) while other tags moved: cut"


def test_none_is_made_up_even_where_readings_are_coarse(tmp_path: Path) -> None:
    for decimals in (2, 1, 0):
        got = read(tmp_path, decimals=decimals)
        assert not got.stuck
        assert "frozen" not in got.tally or (got.tally["frozen"] == 0).all()
