"""Exports too large for memory: read by spans of time, by way of the disk, they give the same readings."""

from pathlib import Path

import pandas as pd
import plant
import pytest

from sevenppb.detect.exports import load, spans
from sevenppb.detect.exports.read import read_vessel
from sevenppb.detect.quality.readings import Readings

FRAME = plant.readings(days=12, seed=3)
LOCAL = FRAME.tz_convert(plant.ZONE).tz_localize(None)  # over the night in which the clock goes back
LONG = LOCAL.rename_axis("time").reset_index().melt("time", var_name="tag")


def read(*paths: Path) -> Readings:
    return read_vessel(plant.vessel(*paths), plant.fleet(), None, None)


def written(folder: Path, form: str) -> list[Path]:
    paths = [folder / f"{form}.csv"]
    if form == "wide":
        LOCAL.to_csv(paths[0])
    elif form == "long by tag":
        LONG.to_csv(paths[0], index=False)
    elif form == "long by time":
        LONG.sort_values("time", kind="stable").to_csv(paths[0], index=False)
    else:  # two files that overlap, one of them Parquet in UTC, with texts and times that can't be read
        paths.append(folder / "second.parquet")
        half = LOCAL.iloc[:9000].astype(object)
        half.iloc[50:60, 1] = "Bad"
        text = half.to_csv().splitlines()
        text[100] = "yesterday" + text[100][19:]
        text.append("9999-12-31 00:00:00,60,112,1100,4")
        paths[0].write_text("\n".join(text))
        FRAME.iloc[6000:].to_parquet(paths[1])
    return paths


@pytest.mark.parametrize("form", ["wide", "long by tag", "long by time", "two files"])
def test_the_same_readings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, form: str) -> None:
    paths = written(tmp_path, form)
    whole = read(*paths)
    monkeypatch.setattr(spans, "AT_ONCE", 10_000)
    monkeypatch.setattr(spans, "SPAN", 14_000)
    monkeypatch.setattr(load, "STREAMED_BYTES", 1000)
    streamed = read(*paths)
    pd.testing.assert_frame_equal(whole.hourly, streamed.hourly)
    pd.testing.assert_frame_equal(whole.count, streamed.count)
    pd.testing.assert_frame_equal(whole.tally, streamed.tally)
    assert whole.notes == streamed.notes
    assert whole.total == streamed.total


def test_spans_keep_clear_of_the_clocks_change() -> None:
    noon = pd.Timestamp("2025-10-26 12:00", tz="UTC").value // 1000
    day = 86_400_000_000
    days = spans.Counter({noon // day + k: spans.SPAN for k in range(-6, 7)})
    cuts = spans._cuts(days, plant.ZONE)
    assert len(cuts) > 6
    assert all(abs(cut - noon) > day for cut in cuts)
