"""What a draft says of tags by how they move with each other, where their names say little."""

from pathlib import Path

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq

from sevenppb.detect.exports.draft import draft
from sevenppb.detect.physics.steam import saturation_temperature


def vessel(days: int = 40, units: bool = True) -> pd.DataFrame:
    """Half-hourly readings of tags with instrument letters only: a vessel at 60 kPa gauge that swings, water 0.7 degC
    below boiling, a colder inlet, water and the steam that heats it, and a flow of something else."""
    rng = np.random.default_rng(11)
    n = days * 48
    time = pd.date_range("2025-02-01", periods=n, freq="30min", tz="UTC", name="time")
    swing = np.sin(np.arange(n) / 17.0) + 0.3 * rng.standard_normal(n)
    load = 150 + 25 * np.sin(np.arange(n) / 29.0) + 4 * rng.standard_normal(n)
    gauge = 60 + 3 * swing
    columns = {
        "PT-1 (kPa)": gauge,
        "TT-2 (degC)": saturation_temperature(gauge * 1000 + 101325.0) - 0.7 + 0.05 * rng.standard_normal(n),
        "TT-3 (degC)": 80 + 3 * rng.standard_normal(n),
        "FT-4 (t/h)": load,
        "FT-5 (kg/h)": 70 * load + 200 * rng.standard_normal(n),
        "FT-6 (t/h)": 20 + rng.standard_normal(n),
    }
    frame = pd.DataFrame(columns, index=time).round(3)
    return frame if units else frame.rename(columns=lambda name: name.split()[0])


def drafted(frame: pd.DataFrame, folder: Path) -> list[str]:
    frame.to_csv(folder / "e.csv")
    return draft([folder / "e.csv"], folder).splitlines()


def line(lines: list[str], tag: str) -> str:
    (found,) = [one for one in lines if f'tag = "{tag}"' in one or f"no role guessed for: {tag}:" in one]
    return found


def test_water_and_steam_are_told_by_how_they_move(tmp_path: Path) -> None:
    lines = drafted(vessel(), tmp_path)
    pressure, water = line(lines, "PT-1"), line(lines, "TT-2")
    assert pressure.startswith('shell_pressure = { tag = "PT-1", unit = "kPa gauge" }')
    assert "moves with TT-2 as boiling water does (correlation 1.0" in pressure
    assert water.startswith('storage_temperature = { tag = "TT-2", unit = "degC" }')
    assert line(lines, "FT-5").startswith('steam_flow = { tag = "FT-5", unit = "kg/h" }')
    assert "moves with FT-4 (correlation 0.9" in line(lines, "FT-5")
    assert "7 % of it" in line(lines, "FT-5")
    assert "doubtful: it could be outlet_flow as well" in line(lines, "FT-4")
    assert line(lines, "TT-3").startswith("# ")
    assert line(lines, "FT-6").startswith("# ")


def test_where_no_unit_is_named_the_one_that_boils_is_proposed_as_doubtful(tmp_path: Path) -> None:
    lines = drafted(vessel(units=False), tmp_path)
    told = '# shell_pressure = { tag = "PT-1", unit = "kPa gauge" }  # doubtful: no unit in the export, values from '
    assert line(lines, "PT-1").startswith(told)
    assert "; kPa gauge fits boiling water" in line(lines, "PT-1")
    assert line(lines, "TT-2").startswith('# storage_temperature = { tag = "TT-2", unit = "degC" }')
    assert not any("needed: no tag could be told" in one for one in lines)


def test_a_vessel_that_stands_cold_half_the_time_is_told_too(tmp_path: Path) -> None:
    frame = vessel()
    stands = np.arange(len(frame)) // 240 % 2 == 1
    frame.loc[stands, ["PT-1 (kPa)", "TT-2 (degC)", "FT-4 (t/h)", "FT-5 (kg/h)"]] = [0.0, 45.0, 0.0, 0.0]
    assert line(drafted(frame, tmp_path), "PT-1").startswith("shell_pressure")


def test_tags_that_only_stop_together_do_not_move_together(tmp_path: Path) -> None:
    frame = vessel()
    rng = np.random.default_rng(12)
    frame["PT-1 (kPa)"] = 60 + 3 * rng.standard_normal(len(frame))
    frame.iloc[:200, :2] = [0.0, 45.0]
    assert "moves with TT-2" not in line(drafted(frame, tmp_path), "PT-1")


def test_an_export_without_a_number_says_so_and_a_folder_stays_a_folder(tmp_path: Path) -> None:
    long = vessel(2).reset_index().melt("time", var_name="tag")
    pq.write_to_dataset(
        pa.Table.from_pandas(long, preserve_index=False), tmp_path / "data", partition_cols=["tag"]
    )
    bad = vessel(2).astype(object)
    bad["TT-3 (degC)"] = "Bad"
    bad.to_csv(tmp_path / "bad.csv")
    text = draft([tmp_path / "data", tmp_path / "bad.csv"], tmp_path)
    assert 'exports = ["data", "bad.csv"]' in text
    assert "# without any number: TT-3" in draft([tmp_path / "bad.csv"], tmp_path)


def test_the_hottest_water_is_told_in_one_unit(tmp_path: Path) -> None:
    held = vessel(units=False)
    rng = np.random.default_rng(12)
    held["PT-1"] = 60 + 0.05 * rng.standard_normal(len(held))
    held["TT-2"] = 112.6 + 0.05 * rng.standard_normal(len(held))
    held["TT-3"] = 185.2 + 0.05 * rng.standard_normal(len(held))  # steam in degC; in degF it fits 60 kPa abs
    lines = drafted(held.round(3), tmp_path)
    assert 'shell_pressure = { tag = "PT-1", unit = "kPa gauge" }' in line(lines, "PT-1")
    assert 'storage_temperature = { tag = "TT-2", unit = "degC" }' in line(lines, "TT-2")
