"""Many small text exports of one shape are read in one go, and give what each read by itself gives."""

import gzip
from collections.abc import Callable
from pathlib import Path

import pandas as pd
import plant
import pytest

from sevenppb.detect.errors import ExportFault
from sevenppb.detect.exports import alike, load
from sevenppb.detect.exports.check import VesselCheck, check_vessel

FRAME = plant.readings(days=3, seed=9).iloc[::5]  # over the night in which the clock goes back
LOCAL = FRAME.tz_convert(plant.ZONE).tz_localize(None).rename_axis("time")


def parts(hours: int = 6) -> list[str]:
    """The readings in files of some hours each."""
    rows = hours * 12
    return [LOCAL.iloc[k : k + rows].to_csv() for k in range(0, len(LOCAL), rows)]


def opens(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Which exports are from now on opened one by one."""
    names: list[str] = []
    original = load.opened

    def counted(*given: object) -> object:
        names.append(given[1].path.name)  # type: ignore[attr-defined]
        return original(*given)  # type: ignore[arg-type]

    monkeypatch.setattr(load, "opened", counted)
    return names


def check(folder: Path) -> VesselCheck:
    return check_vessel(plant.vessel(folder / "*"), plant.fleet())


def same(one: VesselCheck, other: VesselCheck) -> None:
    pd.testing.assert_frame_equal(one.readings.hourly, other.readings.hourly)
    pd.testing.assert_frame_equal(one.readings.count, other.readings.count)
    pd.testing.assert_frame_equal(one.readings.tally, other.readings.tally)
    assert sorted(one.notes) == sorted(other.notes)
    assert [(f.file, f.rows) for f in one.files] == [(f.file, f.rows) for f in other.files]


def test_one_read_for_all_and_the_rows_of_each(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for k, text in enumerate(parts()):
        (tmp_path / f"{k:02d}.csv").write_text(text)
    names = opens(monkeypatch)
    found = check(tmp_path)
    assert names == ["00.csv"]
    assert [f.rows for f in found.files] == [72] * 12
    (tmp_path / "whole").mkdir()
    (tmp_path / "whole" / "all.csv").write_text(LOCAL.to_csv())
    whole = check(tmp_path / "whole")
    pd.testing.assert_frame_equal(found.readings.hourly, whole.readings.hourly)
    pd.testing.assert_frame_equal(found.readings.tally, whole.readings.tally)


def _latin(texts: list[str]) -> list[bytes]:
    return [text.replace("TT-103", "TT-103 (°C)").encode("latin-1") for text in texts]


def _long(texts: list[str]) -> list[bytes]:
    frames = [
        LOCAL.iloc[k : k + 72].reset_index().melt("time", var_name="tag") for k in range(0, len(LOCAL), 72)
    ]
    return [frame.assign(quality="Good").to_csv(index=False).encode() for frame in frames]


def _odd(texts: list[str]) -> list[bytes]:
    texts[1] = texts[1].replace("2025", "yesterday", 1)
    texts[2] = "report of a day\n" + texts[2]
    texts[3] = texts[3].replace(",", ";").replace(".", ",")
    lines = texts[5].split("\n")
    lines[40] += ",1,2"
    lines[50] = lines[50].replace(",", ",12.x", 1)
    texts[5] = "\n".join(lines)
    texts[7] = LOCAL.iloc[7 * 72 - 18 : 8 * 72 - 6].to_csv() + "\n\n"  # overlaps the one before
    texts[8] = texts[8].replace("TT-103", "TT-103 (degF)")
    return [text.encode() for text in texts]


def _clock_forms(texts: list[str]) -> list[bytes]:
    seconds = [FRAME.iloc[k : k + 72].index.as_unit("s").asi8 for k in range(0, len(FRAME), 72)]
    frames = [
        FRAME.iloc[72 * k : 72 * k + 72].set_axis(s * (1000 if k % 3 == 1 else 1)).rename_axis("time")
        for k, s in enumerate(seconds)
    ]
    return [frame.to_csv().encode() for frame in frames]


def _day_first(texts: list[str]) -> list[bytes]:
    shown = [LOCAL.iloc[k : k + 72] for k in range(0, len(LOCAL), 72)]
    return [
        p.set_axis(p.index.strftime("%d/%m/%Y %H:%M")).rename_axis("time").to_csv().encode() for p in shown
    ]


def _packed(texts: list[str]) -> list[bytes]:
    return [gzip.compress(text.encode(), 1) for text in texts]


def _newest_first(texts: list[str]) -> list[bytes]:
    return [LOCAL.iloc[k : k + 72][::-1].to_csv().encode() for k in range(0, len(LOCAL), 72)]


def _late_decimals(texts: list[str]) -> list[bytes]:
    whole = LOCAL.round().astype(int)
    return [
        (whole if k == 0 else LOCAL).iloc[72 * k : 72 * k + 72].to_csv(sep=";", decimal=",").encode()
        for k in range(12)
    ]


def _short(texts: list[str]) -> list[bytes]:
    preamble = "report\nof\na day\n"
    return [b"report\n" if k == 5 else (preamble + text).encode() for k, text in enumerate(texts)]


def test_a_file_that_is_none_is_told_as_if_it_were_alone(tmp_path: Path) -> None:
    for k, content in enumerate(_short(parts())):
        (tmp_path / f"{k:02d}.csv").write_bytes(content)
    with pytest.raises(ExportFault, match=r"05\.csv: no delimiter"):
        check(tmp_path)


def test_one_packed_file_that_is_cut_off_is_named(tmp_path: Path) -> None:
    for k, content in enumerate(_packed(parts())):
        (tmp_path / f"{k:02d}.csv.gz").write_bytes(content[: len(content) // 2] if k == 7 else content)
    with pytest.raises(ExportFault, match=r"07\.csv\.gz: is not a complete gzip file"):
        check(tmp_path)


@pytest.mark.parametrize(
    ("make", "most"),
    [
        (_latin, 1), (_long, 1), (_packed, 1), (_day_first, 1), (_newest_first, 1), (_late_decimals, 4),
        (_odd, 12), (_clock_forms, 12),
    ],
    ids=lambda case: getattr(case, "__name__", case),
)  # fmt: skip
def test_the_same_as_one_by_one(
    make: Callable[[list[str]], list[bytes]], most: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for k, content in enumerate(make(parts())):
        (tmp_path / f"{k:02d}.csv").write_bytes(content)
    names = opens(monkeypatch)
    together = check(tmp_path)
    assert 1 <= len(names) <= most
    monkeypatch.setattr(alike, "_shareable", lambda reading: False)
    same(together, check(tmp_path))
    assert len(names) > 12


def test_files_that_need_units_of_their_own_are_not_read_as_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for k, text in enumerate(_long(parts())):
        unit = "kPa(g)" if k % 2 else "kPa (g)"
        lines = text.decode().replace("quality", "unit").replace("Good", unit)
        (tmp_path / f"{k:02d}.csv").write_text(lines)
    names = opens(monkeypatch)
    check(tmp_path)
    assert len(names) == 12
