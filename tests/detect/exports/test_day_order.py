"""Dates that can be read day first and month first: told by the whole file, the fleet file or other files, or refused."""

from pathlib import Path

import pandas as pd
import plant
import pytest

from sevenppb.detect.errors import ExportFault
from sevenppb.detect.exports.check import VesselCheck, check_vessel

HEADER = "Time,PT-101,TT-103,FT-110,AT-120"


def export(folder: Path, name: str, *dates: str) -> None:
    lines = [f"{date} {h:02d}:{m:02d},60,112,150,4" for date in dates for h in range(24) for m in (0, 30)]
    (folder / name).write_text("\n".join([HEADER, *lines]))


def check(folder: Path, dates: str = "auto") -> VesselCheck:
    return check_vessel(plant.vessel(folder / "*.csv", dates=dates), plant.fleet("UTC"))


def times(found: VesselCheck) -> list[str]:
    return [told for file in found.files for told in file.form if told.startswith("time: ")]


def first_day(found: VesselCheck) -> str:
    return f"{found.readings.hourly.index[0]:%Y-%m-%d}"


def test_one_day_alone_is_refused_with_how_to_state_it(tmp_path: Path) -> None:
    export(tmp_path, "e.csv", "03/04/2025")
    told = r'e\.csv: its dates can be read .*State it .* in the fleet file: dates = "day first" or dates = "month first"'
    with pytest.raises(ExportFault, match=told):
        check(tmp_path)


@pytest.mark.parametrize(("dates", "day"), [("day first", "2025-04-03"), ("month first", "2025-03-04")])
def test_the_fleet_file_settles_it(tmp_path: Path, dates: str, day: str) -> None:
    export(tmp_path, "e.csv", "03/04/2025")
    found = check(tmp_path, dates)
    assert first_day(found) == day
    assert times(found) == [f"time: {dates} (the fleet file says so)"]


def test_a_file_that_settles_it_otherwise_is_refused(tmp_path: Path) -> None:
    export(tmp_path, "e.csv", "03/13/2025")
    assert first_day(check(tmp_path, "month first")) == "2025-03-13"
    with pytest.raises(
        ExportFault, match=r'says dates = "day first", but a date in it can only be read month first'
    ):
        check(tmp_path, "day first")


def test_a_day_after_the_twelfth_anywhere_in_the_file_settles_it(tmp_path: Path) -> None:
    export(tmp_path, "e.csv", *(f"{day:02d}/04/2025" for day in range(1, 15)))
    assert times(check(tmp_path)) == ["time: day first"]


def test_three_days_in_a_row_settle_it(tmp_path: Path) -> None:
    export(tmp_path, "e.csv", "03/04/2025", "04/04/2025", "05/04/2025")
    found = check(tmp_path)
    assert first_day(found) == "2025-04-03"
    assert times(found) == ["time: day first (so its days follow each other)"]
    other = check(tmp_path, "month first")  # stated, so believed, but not in silence
    assert other.readings.hourly.index[-1] == pd.Timestamp("2025-05-04 23:00", tz="UTC")
    assert any("its days would follow each other day first" in note for note in other.notes)


def test_another_file_settles_it_and_check_says_so(tmp_path: Path) -> None:
    export(tmp_path, "a.csv", "03/04/2025")
    export(tmp_path, "b.csv", "13/04/2025")
    by_another = "time: day first (a day after the 12th in one of these files tells)"
    assert times(check(tmp_path)) == [by_another, by_another]  # of one shape: read together
    text = (tmp_path / "b.csv").read_text().replace(",", ";")
    (tmp_path / "b.csv").write_text(text)
    assert times(check(tmp_path)) == ["time: day first (other exports tell)", "time: day first"]


def test_files_in_two_orders_leave_a_third_open(tmp_path: Path) -> None:
    export(tmp_path, "a.csv", "03/04/2025")
    export(tmp_path, "b.csv", "13/04/2025")
    export(tmp_path, "c.csv", "04/13/2025")
    with pytest.raises(ExportFault, match=r"a\.csv: its dates can be read"):
        check(tmp_path)
