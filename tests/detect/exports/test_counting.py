"""What can't be used is cut for the reason it was put there, counted, and told."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import plant
import pytest

from sevenppb.detect.exports.check import check_vessel
from sevenppb.detect.exports.read import read_vessel
from sevenppb.detect.fleet import TagRef
from sevenppb.detect.quality.readings import Readings

Frame = pd.DataFrame


def noisy(days: int = 20, seed: int = 3) -> Frame:
    """Ten-minute readings that always move."""
    rng = np.random.default_rng(seed)
    time = pd.date_range("2025-02-01", periods=days * 144, freq="10min", tz="UTC", name="timestamp")
    slow = np.sin(np.arange(len(time)) / 200.0)
    columns = {
        tag: np.round(middle + swing * slow + 0.2 * swing * rng.standard_normal(len(time)), 3)
        for tag, middle, swing in (
            ("PT-101", 60, 2),
            ("TT-103", 112, 0.5),
            ("FT-110", 150, 30),
            ("AT-120", 4.5, 1),
        )
    }
    return pd.DataFrame(columns, index=time)


def read(frame: Frame, folder: Path, **changes: object) -> Readings:
    frame.to_parquet(folder / "export.parquet")
    return read_vessel(plant.vessel(folder / "export.parquet", **changes), plant.fleet("UTC"), None, None)


def counts(readings: Readings, role: str) -> dict[str, int]:
    return {str(k): int(n) for k, n in readings.tally.loc[role].items() if n and k != "used"}


def sums_up(readings: Readings, frame: Frame) -> None:
    assert readings.total == frame.size
    assert (readings.tally.sum(axis=1) == len(frame)).all()


def test_healthy_readings_lose_nothing(tmp_path: Path) -> None:
    frame = noisy()
    got = read(frame, tmp_path)
    assert list(got.tally.columns) == ["used"]
    assert got.notes == ("barometer not recorded: 101.325 kPa assumed",)
    assert got.stuck == ()
    sums_up(got, frame)
    assert (got.count == 6).all(axis=None)
    inside = frame["TT-103"].resample("h").quantile([0.25, 0.75]).unstack()
    np.testing.assert_allclose(
        got.spread["storage_temperature"], (inside[0.75] - inside[0.25]) / 1.349, rtol=1e-9
    )


def test_out_of_range_is_cut(tmp_path: Path) -> None:
    frame = noisy()
    frame.iloc[[100, 700, 701], 1] = [-9999.0, 3276.7, np.inf]
    got = read(frame, tmp_path)
    assert counts(got, "storage_temperature") == {"out of range": 2, "not a number": 1}
    sums_up(got, frame)
    assert got.count["storage_temperature"].iloc[[100 // 6, 700 // 6]].tolist() == [5, 4]


@pytest.mark.parametrize("width", [1, 2, 3])
def test_spikes_are_cut_and_steps_are_not(tmp_path: Path, width: int) -> None:
    frame = noisy()
    frame.iloc[500 : 500 + width, 1] += 25.0
    frame.iloc[1000:, 1] += 25.0
    frame.iloc[1000:, 0] += 60.0
    got = read(frame, tmp_path)
    assert counts(got, "storage_temperature") == {"spike": width}
    assert counts(got, "shell_pressure") == {}
    assert any("cut as spikes: storage_temperature" in note for note in got.notes)
    sums_up(got, frame)


def test_a_frozen_tag_is_cut_to_the_reading_and_told(tmp_path: Path) -> None:
    frame = noisy()
    frame.iloc[603:903, 1] = frame.iloc[602, 1]
    got = read(frame, tmp_path)
    assert counts(got, "storage_temperature") == {"frozen": 301}
    (stuck,) = got.stuck
    assert (stuck.role, stuck.start, stuck.end) == ("storage_temperature", frame.index[602], frame.index[902])
    assert stuck.value == pytest.approx(frame.iloc[602, 1])
    inside = got.hourly["storage_temperature"].loc[frame.index[602].ceil("h") : frame.index[902].floor("h")]
    assert inside.iloc[:-1].isna().all()
    edge = frame.index[602].floor("h")  # the edge's hour keeps what came before the standstill
    kept = frame["TT-103"][(frame.index >= edge) & (frame.index < frame.index[602])]
    assert got.hourly.loc[edge, "storage_temperature"] == pytest.approx(kept.median())
    assert got.count.loc[edge, "storage_temperature"] == len(kept)
    sums_up(got, frame)


def test_a_standing_vessel_is_not_frozen(tmp_path: Path) -> None:
    frame = noisy()
    frame.iloc[600:1000, [0, 1]] = [0.0, 40.0]
    frame.iloc[600:1000, 2] = 0.0
    got = read(frame, tmp_path)
    assert got.stuck == ()
    assert "frozen" not in got.tally


def test_a_vessel_that_stands_most_of_the_time_has_no_spikes(tmp_path: Path) -> None:
    frame = noisy().iloc[::3]  # half-hourly: too few readings to see a spike by its hour
    stands = np.arange(len(frame)) // 48 % 3 > 0
    frame.loc[stands, "FT-110"] = 0.0
    assert counts(read(frame, tmp_path), "outlet_flow") == {}


def test_a_closed_valve_and_a_tag_that_rarely_moves_are_not_frozen(tmp_path: Path) -> None:
    frame = noisy()
    frame["ZT-1"] = np.round(40 + 5 * np.random.default_rng(1).standard_normal(len(frame)), 1)
    frame.iloc[600:1000, 4] = 100.0  # wide open: at its stop
    frame["ZT-2"] = np.repeat([30.0, 35.0, 32.0, 40.0], len(frame) // 4)  # moved by hand
    tags = {**plant.TAGS, "steam_valve": TagRef("ZT-1", "%"), "vent_valve": TagRef("ZT-2", "%")}
    got = read(frame, tmp_path, tags=tags)
    assert got.stuck == ()
    assert "frozen" not in got.tally


def test_a_collector_outage_is_cut_but_blames_no_sensor(tmp_path: Path) -> None:
    frame = noisy()
    frame.iloc[600:700] = frame.iloc[600].to_numpy()
    got = read(frame, tmp_path)
    assert got.stuck == ()
    assert counts(got, "storage_temperature") == {"frozen": 100}
    assert any("collector outage" in note for note in got.notes)


@pytest.mark.parametrize(
    ("column", "change", "words"),
    [
        (0, lambda v: v + 101.325, "gauge and absolute"),
        (0, lambda v: v / 6.894757, "psi and kPa"),
        (1, lambda v: v * 1.8 + 32, "degC and degF"),
        (2, lambda v: v * 2204.62, "t/h and lb/h"),
    ],
)
def test_a_change_of_unit_midway_is_cut(
    tmp_path: Path, column: int, change: Callable[[Frame], Frame], words: str
) -> None:
    frame = noisy()
    frame.iloc[2000:, column] = change(frame.iloc[2000:, column])
    got = read(frame, tmp_path)
    role = list(plant.TAGS)[column]
    lost = counts(got, role)
    assert sum(lost.values()) == pytest.approx(len(frame) - 2000, abs=6)
    assert set(lost) == {"unit jump"}
    assert any(f"{role} changes between {words} at 2025-02-14 21:00 UTC" in note for note in got.notes)
    sums_up(got, frame)


def test_there_and_back_is_cut_between(tmp_path: Path) -> None:
    frame = noisy()
    frame.iloc[600:900, 0] += 101.325
    assert counts(read(frame, tmp_path), "shell_pressure") == {"unit jump": 300}


def test_a_start_up_is_no_change_of_unit(tmp_path: Path) -> None:
    """Shell pressure rises by one atmosphere when the vessel starts, from near nothing, and other tags with it."""
    frame = noisy()
    frame["PT-101"] += 41.3
    frame.iloc[:600, 0] = 0.1 * np.random.default_rng(2).standard_normal(600)
    frame.iloc[:600, 2] = 0.0
    frame.iloc[:600, 1] = 40.0 + frame.iloc[:600, 1] / 100
    got = read(frame, tmp_path)
    assert counts(got, "shell_pressure") == {}


def test_a_set_point_step_of_one_atmosphere_moves_the_temperature_too(tmp_path: Path) -> None:
    frame = noisy()
    frame.iloc[1500:, 0] += 101.325
    frame.iloc[1500:, 1] += 19.0
    assert counts(read(frame, tmp_path), "shell_pressure") == {}


def text_export(folder: Path, frame: Frame, replace: dict[tuple[int, int], str], extra: str = "") -> None:
    cells = frame.map("{:.3f}".format).to_numpy().astype(object)
    for (row, column), text in replace.items():
        cells[row, column] = text
    lines = [
        ",".join([t, *row]) for t, row in zip(frame.index.strftime("%Y-%m-%d %H:%M:%S"), cells, strict=True)
    ]
    (folder / "export.csv").write_text("\n".join([",".join(["Time", *frame.columns]), *lines]) + "\n" + extra)


def test_texts_for_bad_values_are_counted_by_kind(tmp_path: Path) -> None:
    frame = noisy(3)
    texts = ["Bad", "No Data", "I/O Timeout", "", "NaN", "#N/A", "bad input", "12.5x", "-"]
    text_export(tmp_path, frame, {(10 + i, 1): text for i, text in enumerate(texts)})
    got = read_vessel(plant.vessel(tmp_path / "export.csv"), plant.fleet("UTC"), None, None)
    assert counts(got, "storage_temperature") == {"text for bad": 6, "empty": 1, "not a number": 2}
    assert any(
        'texts that are no numbers, such as "12.5x": storage_temperature 1' in note for note in got.notes
    )
    sums_up(got, frame)


@pytest.mark.parametrize("unit", ["%", "0-1"])
@pytest.mark.parametrize("layout", ["wide", "long"])
def test_a_limit_switchs_words_are_its_valves_ends(tmp_path: Path, unit: str, layout: str) -> None:
    frame = noisy(3).astype(object)
    frame["ZS-1"] = ["Open" if k % 36 < 18 else " CLOSED" for k in range(len(frame))]
    frame.iloc[30:36, 1] = "Open"  # which no thermometer is
    if layout == "long":
        frame = frame.rename_axis("time").reset_index().melt("time", var_name="tag").set_index("time")
    frame.to_csv(tmp_path / "export.csv")
    tags = {**plant.TAGS, "vent_valve": TagRef("ZS-1", unit)}
    got = read_vessel(plant.vessel(tmp_path / "export.csv", tags=tags), plant.fleet("UTC"), None, None)
    assert got.hourly["vent_valve"].tolist() == [1.0, 1.0, 1.0, 0.0, 0.0, 0.0] * 12
    assert counts(got, "vent_valve") == {}
    assert counts(got, "storage_temperature") == {"not a number": 6}
    assert any(
        'texts that are no numbers, such as "Open": storage_temperature 6' in note for note in got.notes
    )


def test_lines_that_do_not_fit_are_told(tmp_path: Path) -> None:
    frame = noisy(3)
    text_export(tmp_path, frame, {}, "2025-02-04 00:00:00,1,2\n2025-02-04 00:10:00,1,2,3,4,5,6\n")
    got = read_vessel(plant.vessel(tmp_path / "export.csv"), plant.fleet("UTC"), None, None)
    (note,) = [n for n in got.notes if "don't fit the table" in n]
    assert "2 lines" in note
    assert f"the first is line {len(frame) + 2}" in note
    sums_up(got, frame)


@pytest.mark.parametrize(
    ("good", "bad", "name"),
    [
        ("Good", "Bad", "quality"),
        ("192", "0", "q"),
        ("192", "68", "opc_quality"),
        ("1", "0", "good"),
        ("0", "1", "status"),
        ("Good", "Uncertain", "status"),
    ],
)
@pytest.mark.parametrize("layout", ["long", "wide"])
def test_bad_quality_is_cut(tmp_path: Path, good: str, bad: str, name: str, layout: str) -> None:
    frame = noisy(3)
    quality = pd.DataFrame(good, index=frame.index, columns=frame.columns)
    quality.iloc[20:26, 1] = bad
    if layout == "long":
        joined = frame.stack().rename("value").to_frame().assign(**{name: quality.stack()})
        joined.rename_axis(["time", "tag"]).reset_index().to_csv(tmp_path / "export.csv", index=False)
    else:
        parts = {c: frame[c] for c in frame} | {f"{c}_{name}": quality[c] for c in frame}
        order = [n for c in frame for n in (c, f"{c}_{name}")]
        pd.DataFrame(parts)[order].to_csv(tmp_path / "export.csv")
    got = read_vessel(plant.vessel(tmp_path / "export.csv"), plant.fleet("UTC"), None, None)
    assert counts(got, "storage_temperature") == {"bad quality": 6}
    assert counts(got, "shell_pressure") == {}
    sums_up(got, frame)


def test_a_quality_column_that_is_not_understood_is_told(tmp_path: Path) -> None:
    frame = noisy(3).assign(**{"TT-103 quality": "purple"})
    frame.to_csv(tmp_path / "export.csv")
    check = check_vessel(plant.vessel(tmp_path / "export.csv"), plant.fleet("UTC"))
    assert 'quality: column "TT-103 quality" holds "PURPLE": not understood, not used' in check.files[0].form
    assert list(check.readings.tally.columns) == ["used"]


def test_the_last_good_of_two_readings_counts(tmp_path: Path) -> None:
    frame = noisy(3)
    later = frame.iloc[200:300] + 0.5
    later.iloc[3, 1] = np.nan
    frame.to_parquet(tmp_path / "a.parquet")
    later.to_parquet(tmp_path / "b.parquet")
    got = read_vessel(plant.vessel(tmp_path / "[ab].parquet"), plant.fleet("UTC"), None, None)
    assert counts(got, "storage_temperature") == {"duplicate": 100}
    assert any("come twice with different values" in n and "storage_temperature 99" in n for n in got.notes)
    whole = frame.copy()
    whole.update(later)
    np.testing.assert_allclose(got.hourly["storage_temperature"], whole["TT-103"].resample("h").median())
    assert (got.tally.sum(axis=1) == len(frame) + len(later)).all()


def test_since_and_until_bound_everything(tmp_path: Path) -> None:
    frame = noisy()
    frame.iloc[1500:1800, 1] = 77.7  # frozen, after until
    frame.to_parquet(tmp_path / "export.parquet")
    since, until = frame.index[300], frame.index[1205]
    got = read_vessel(plant.vessel(tmp_path / "export.parquet"), plant.fleet("UTC"), since, until)
    part = frame.loc[since:until]
    assert got.total == part.size
    assert (got.hourly.index[0], got.hourly.index[-1]) == (since.floor("h"), until.floor("h"))
    np.testing.assert_allclose(got.hourly["storage_temperature"], part["TT-103"].resample("h").median())
    assert got.stuck == ()


def test_clock_times_that_do_not_exist_are_not_used(tmp_path: Path) -> None:
    """A logger on standard time writes the hour that Oslo's clock skips on 2025-03-30."""
    frame = noisy(3)
    frame.index = pd.date_range("2025-03-29", periods=len(frame), freq="10min", name="time")
    frame.to_parquet(tmp_path / "export.parquet")
    got = read_vessel(plant.vessel(tmp_path / "export.parquet"), plant.fleet("Europe/Oslo"), None, None)
    assert counts(got, "storage_temperature") == {"no such time": 6}
    assert any("does the fleet file's timezone fit?" in note for note in got.notes)


def test_the_barometer_is_followed_hour_by_hour(tmp_path: Path) -> None:
    frame = noisy(3)
    frame["BAR"] = np.round(1000 + 20 * np.sin(np.arange(len(frame)) / 60.0), 2)
    frame.iloc[60:72, 4] = np.nan
    tags = {**plant.TAGS, "barometric_pressure": TagRef("BAR", "mbar")}
    got = read(frame, tmp_path, tags=tags)
    air = frame["BAR"].resample("h").median().interpolate() * 100
    np.testing.assert_allclose(
        got.hourly["shell_pressure"], frame["PT-101"].resample("h").median() * 1000 + air
    )
    assert got.notes == ("barometer: 2 hours without a reading lie between its neighbours' values",)


def by_exception(folder: Path, frame: Frame, bad: tuple[int, str] | None = None) -> Readings:
    """The frame's numbers as a long export, a row each; one may be made a text."""
    long = frame.stack().rename("value").rename_axis(["time", "tag"]).dropna().reset_index()
    long["value"] = long["value"].astype(str)
    if bad:
        late = long["time"] >= frame.index[bad[0]]
        long.loc[(late & (long["tag"] == bad[1])).idxmax(), "value"] = "Bad"
    long.to_csv(folder / "export.csv", index=False)
    return read_vessel(plant.vessel(folder / "export.csv"), plant.fleet("UTC"), None, None)


def test_values_by_exception_are_held_in_silence_of_one_tag_but_not_of_all(tmp_path: Path) -> None:
    frame = plant.readings(days=4)
    sparse = frame.where(frame.ne(frame.shift()))
    sparse.iloc[600:840, 1] = np.nan
    sparse.iloc[2000:2200] = np.nan
    got = by_exception(tmp_path, sparse, bad=(3000, "TT-103"))
    held = got.count["storage_temperature"]
    assert (held.iloc[1:33] == 60).all()
    assert (got.count.iloc[34:36] == 0).all(axis=None)
    assert held.iloc[50] < 60  # a bad value ends the hold
    assert any(note.startswith("stored by exception") for note in got.notes)
    dense = frame["TT-103"].where(sparse["TT-103"].notna()).ffill()
    np.testing.assert_allclose(
        got.hourly["storage_temperature"].iloc[:33], dense.resample("h").median().iloc[:33]
    )


def test_a_tag_by_exception_that_falls_silent_is_stuck(tmp_path: Path) -> None:
    frame = plant.readings(days=4)
    sparse = frame.where(frame.ne(frame.shift()))
    sparse.iloc[600:1320, 1] = np.nan
    (stuck,) = by_exception(tmp_path, sparse).stuck
    assert stuck.role == "storage_temperature"
    assert abs(stuck.start - frame.index[600]) < pd.Timedelta("1h")


def test_a_gap_of_a_tag_that_is_sampled_is_not_filled(tmp_path: Path) -> None:
    frame = noisy()
    frame.iloc[600:660, 1] = np.nan
    got = read(frame, tmp_path)
    assert counts(got, "storage_temperature") == {"empty": 60}
    assert got.hourly["storage_temperature"].iloc[100:110].isna().all()


def test_units_of_two_exports_are_brought_together(tmp_path: Path) -> None:
    frame = noisy(4)
    first = frame.iloc[:300].rename(columns={"TT-103": "TT-103 (degC)", "PT-101": "PT-101 [kPa gauge]"})
    second = frame.iloc[300:].copy()
    second["TT-103"] = second["TT-103"] * 1.8 + 32
    second["PT-101"] = (second["PT-101"] + 101.325) / 6.894757293168361
    second = second.rename(columns={"TT-103": "TT-103 (degF)", "PT-101": "PT-101 [psia]"})
    first.to_csv(tmp_path / "a.csv")
    second.to_csv(tmp_path / "b.csv")
    tags = {
        **plant.TAGS,
        "storage_temperature": TagRef("TT-103", None),
        "shell_pressure": TagRef("PT-101", None),
    }
    got = read_vessel(plant.vessel(tmp_path / "[ab].csv", tags=tags), plant.fleet("UTC"), None, None)
    np.testing.assert_allclose(
        got.hourly["storage_temperature"], frame["TT-103"].resample("h").median(), rtol=1e-9
    )
    np.testing.assert_allclose(
        got.hourly["shell_pressure"], frame["PT-101"].resample("h").median() * 1000 + 101325, rtol=1e-9
    )


def test_the_fleet_files_unit_wins_and_the_difference_is_told(tmp_path: Path) -> None:
    frame = noisy(3).rename(columns={"TT-103": "TT-103 (degF)"})
    got = read(frame, tmp_path)
    assert any('the export says "degF", the fleet file "degC"' in note for note in got.notes)
    assert got.hourly["storage_temperature"].median() == pytest.approx(112, abs=2)
