"""Broken exports: one clear sentence that names the file, never a traceback, never a silent loss."""

import gzip
import zipfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import plant
import pyarrow.parquet as pq
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sevenppb.detect.errors import ExportFault, Fault, VesselFault
from sevenppb.detect.exports import draft
from sevenppb.detect.exports.read import read_vessel
from sevenppb.detect.fleet import TagRef
from sevenppb.detect.quality.readings import Readings

FRAME = plant.readings(days=0.2)
HEADER = "Time,PT-101,TT-103,FT-110,AT-120"
ROWS = [
    f"{t},{','.join(f'{v:.3f}' for v in row)}"
    for t, row in zip(FRAME.index.strftime("%Y-%m-%dT%H:%M:%SZ"), FRAME.to_numpy(), strict=True)
]
TEXT = "\n".join([HEADER, *ROWS]) + "\n"


def read(path: Path) -> Readings:
    return read_vessel(plant.vessel(path), plant.fleet("UTC"), None, None)


def told(path: Path, content: bytes | str) -> str:
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    with pytest.raises(Fault) as caught:
        read(path)
    sentence = str(caught.value)
    assert "Traceback" not in sentence
    assert "\n" not in sentence
    assert sentence.endswith(".")
    return sentence


def parquet(folder: Path) -> bytes:
    FRAME.to_parquet(folder / "whole.parquet")
    return (folder / "whole.parquet").read_bytes()


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("e.csv", "", "is empty (0 bytes)"),
        ("e.csv", "\n\n \n", "nothing but blank lines"),
        ("e.csv", "# one\n# two\n", "nothing but comment lines"),
        ("e.csv", HEADER + "\n", "has a header but no readings"),
        ("e.csv", HEADER + "\n,kPa,degC,t/h,ppb\n", "has a header but no readings"),
        ("e.csv", "hello\nworld\n", "no delimiter"),
        ("e.txt", FRAME.to_string(), "blanks alone stand between its columns"),
        ("e.txt", FRAME.to_string(decimal=","), "blanks alone stand between its columns"),
        ("e.csv", TEXT.replace(",", " "), "blanks alone stand between its columns"),
        ("e.csv", "a,b\nc,d\ne,f\ng,h\ni,j\nk,l\n", "no column can be read as time"),
        ("e.csv", "\n".join(ROWS), "has no header row that names the tags"),
        ("e.csv", bytes(range(256)) * 40, "neither text nor Parquet"),
        ("e.csv", gzip.compress(TEXT.encode(), mtime=0)[:900], "is not a complete gzip file"),
        ("e.csv", gzip.compress(b"", mtime=0), "nothing but blank lines"),
        ("e.csv", b"\x1f\x8bnonsense", "is not a complete gzip file"),
        ("e.csv", b"\x28\xb5\x2f\xfdnonsense", "is not a complete zstd file"),
        ("e.parquet", b"PAR1nonsense", "can't be read as Parquet"),
        ("e.parquet", b"PAR1", "can't be read as Parquet"),
        ("e.xlsx", b"PK\x03\x04" + b"0" * 100, "Save the sheet as CSV"),
        ("e.csv", "x" * 10_000_000, "no table"),
        ("e.csv", TEXT.replace("Z,", " CET,").replace("T2", " 2"), "CET is not one clock everywhere"),
        (
            "e.csv",
            "\n".join([HEADER, *(row.split(",")[0] + ",Bad,Bad,Bad,Bad" for row in ROWS)]),
            "none of the readings can be used (1152 text for bad): every value of PT-101, TT-103, FT-110, AT-120 is a text "
            'for a bad one, such as "Bad": look whether the historian still collects it, and under this name.',
        ),
        ("e.csv", TEXT.replace("2025-10-2", "9999-99-9"), "none of the readings can be used"),
    ],
)
def test_what_is_wrong_and_what_to_do(tmp_path: Path, name: str, content: bytes | str, words: str) -> None:
    sentence = told(tmp_path / name, content)
    assert words in sentence
    assert name in sentence or "DA-1" in sentence


def test_a_truncated_gzip_deep_in_the_file(tmp_path: Path) -> None:
    rng = np.random.default_rng(0)
    lines = [
        f"2025-01-01T{i // 3600 % 24:02d}:{i // 60 % 60:02d}:{i % 60:02d}Z,{rng.random()},1,2,3"
        for i in range(40_000)
    ]
    packed = gzip.compress("\n".join([HEADER, *lines]).encode())
    assert "is not a complete gzip file" in told(tmp_path / "e.csv.gz", packed[: len(packed) - 5000])


@pytest.mark.parametrize("cut", [0.3, 0.6, 0.95])
def test_a_truncated_parquet(tmp_path: Path, cut: float) -> None:
    whole = parquet(tmp_path)
    assert "can't be read as Parquet" in told(tmp_path / "e.parquet", whole[: int(len(whole) * cut)])


def test_a_parquet_with_broken_pages(tmp_path: Path) -> None:
    FRAME.to_parquet(tmp_path / "whole.parquet", row_group_size=100)
    whole = bytearray((tmp_path / "whole.parquet").read_bytes())
    start = pq.read_metadata(tmp_path / "whole.parquet").row_group(1).column(1).dictionary_page_offset
    whole[start : start + 400] = b"\xff" * 400
    told_of = told(tmp_path / "e.parquet", bytes(whole))
    assert "e.parquet, row group 2 of 3: can't be read as Parquet" in told_of


def test_a_parquet_without_rows_and_one_without_times(tmp_path: Path) -> None:
    FRAME.iloc[:0].to_parquet(tmp_path / "a.parquet")
    with pytest.raises(ExportFault, match="has columns but no rows"):
        read(tmp_path / "a.parquet")
    FRAME.reset_index(drop=True).to_parquet(tmp_path / "b.parquet", index=False)
    with pytest.raises(ExportFault, match="no column can be read as time"):
        read(tmp_path / "b.parquet")


def test_no_file(tmp_path: Path) -> None:
    with pytest.raises(VesselFault, match=r'vessel "DA-1": no file matches .*none-\*.csv'):
        read(tmp_path / "none-*.csv")
    with pytest.raises(VesselFault, match=r"can't be fetched|no file matches"):
        read(f"file://{tmp_path}/none/*.csv")  # type: ignore[arg-type]


def test_an_address_is_fetched(tmp_path: Path) -> None:
    (tmp_path / "e.csv").write_text(TEXT)
    got = read(f"file://{tmp_path}/*.csv")  # type: ignore[arg-type]
    assert got.total == FRAME.size


@pytest.mark.parametrize("form", ["wide", "long"])
def test_a_tag_that_is_not_there(tmp_path: Path, form: str) -> None:
    frame = (
        FRAME if form == "wide" else FRAME.stack().rename("value").rename_axis(["time", "tag"]).reset_index()
    )
    frame.to_parquet(tmp_path / "e.parquet")
    tags = {**plant.TAGS, "level": TagRef("TT-130", "%"), "vent_flow": TagRef("XX", "t/h")}
    with pytest.raises(VesselFault) as caught:
        read_vessel(plant.vessel(tmp_path / "e.parquet", tags=tags), plant.fleet("UTC"), None, None)
    sentence = str(caught.value)
    assert 'no export holds the tag "TT-130" for level (nearest: TT-103' in sentence
    assert '"XX" for vent_flow' in sentence
    assert "They hold 4 tags: AT-120, FT-110, PT-101, TT-103." in sentence


def test_no_unit_anywhere(tmp_path: Path) -> None:
    FRAME.to_parquet(tmp_path / "e.parquet")
    tags = {**plant.TAGS, "outlet_flow": TagRef("FT-110", None)}
    with pytest.raises(VesselFault, match=r'outlet_flow \(tag "FT-110"\): no unit'):
        read_vessel(plant.vessel(tmp_path / "e.parquet", tags=tags), plant.fleet("UTC"), None, None)
    FRAME.rename(columns={"PT-101": "PT-101 (kPa)"}).to_parquet(tmp_path / "e.parquet")
    tags = {**plant.TAGS, "shell_pressure": TagRef("PT-101", None)}
    with pytest.raises(VesselFault, match=r"as the export says: unit .kPa. doesn't say: gauge or abs"):
        read_vessel(plant.vessel(tmp_path / "e.parquet", tags=tags), plant.fleet("UTC"), None, None)


def test_a_span_without_readings(tmp_path: Path) -> None:
    FRAME.to_parquet(tmp_path / "e.parquet")
    with pytest.raises(VesselFault, match=r"hold no reading since 2030-01-01 00:00. Widen the span"):
        read_vessel(
            plant.vessel(tmp_path / "e.parquet"),
            plant.fleet("UTC"),
            pd.Timestamp("2030-01-01", tz="UTC"),
            None,
        )


def test_ten_thousand_columns(tmp_path: Path) -> None:
    others = [f"X-{i}" for i in range(10_000)]
    line = "," + ",".join("1.5" for _ in others)
    text = "\n".join([HEADER + "," + ",".join(others), *(row + line for row in ROWS)])
    (tmp_path / "e.csv").write_text(text)
    got = read(tmp_path / "e.csv")
    assert got.total == FRAME.size


def test_a_line_of_ten_megabytes(tmp_path: Path) -> None:
    (tmp_path / "e.csv").write_text(
        "\n".join([HEADER, *ROWS, "x" * 10_000_000, ROWS[0].replace("2025-10-24", "2025-10-26")])
    )
    got = read(tmp_path / "e.csv")
    assert any(
        "1 lines don't fit the table" in note and f"line {len(ROWS) + 2}" in note for note in got.notes
    )


def test_a_quote_left_open_loses_one_time_only(tmp_path: Path) -> None:
    rows = [*ROWS]
    rows[100] = '"' + rows[100]
    (tmp_path / "e.csv").write_text("\n".join([HEADER, *rows]) + "\n")
    got = read(tmp_path / "e.csv")
    assert (got.tally["used"] == len(rows) - 1).all()
    assert (got.tally["no such time"] == 1).all()


def test_a_quote_left_open_among_quoted_cells_is_told(tmp_path: Path) -> None:
    rows = ['"' + row.replace(",", '","') + '"' for row in ROWS]
    rows[100] = rows[100][:-1]
    assert "e.csv:102: a quote is opened here and not closed." in told(
        tmp_path / "e.csv", "\n".join([HEADER, *rows])
    )


def test_absurd_dates_are_counted(tmp_path: Path) -> None:
    rows = [*ROWS]
    rows[50] = rows[50].replace("2025-10-2", "2025-13-4")
    rows[60] = rows[60].replace("2025-10-24", "tomorrow__")
    (tmp_path / "e.csv").write_text("\n".join([HEADER, *rows]))
    got = read(tmp_path / "e.csv")
    assert (got.tally["no such time"] == 2).all()
    assert (got.tally.sum(axis=1) == len(rows)).all()


def test_bytes_of_another_encoding_late_in_the_file(tmp_path: Path) -> None:
    rows = [row + ",ok" for row in ROWS] * 30
    content = (
        (HEADER + ",remark\n" + "\n".join(rows)).encode()
        + b"\n"
        + ROWS[0].replace("-24T", "-26T").encode()
        + b",5 \xb0C\n"
    )
    (tmp_path / "e.csv").write_bytes(content)
    got = read(tmp_path / "e.csv")
    assert (got.tally["used"] == len(ROWS) + 1).all()


@pytest.mark.parametrize(
    ("values", "quality", "words"),
    [
        (
            "Bad",
            "Good",
            'every value of TT-103 is a text for a bad one, such as "Bad": look whether the historian',
        ),
        ("60.5", "Bad", "every value of TT-103 is bad by the export's quality column: look what its words"),
        ("", "Good", "every value of TT-103 is empty: look at the tag's name"),
    ],
)
def test_a_tag_of_which_nothing_can_be_used_is_named(
    tmp_path: Path, values: str, quality: str, words: str
) -> None:
    lines = [
        f"{row.split(',')[0]},{tag},{values if tag == 'TT-103' else 60 + k},{quality if tag == 'TT-103' else 'Good'}"
        for k, row in enumerate(ROWS[:60])
        for tag in FRAME
    ]
    (tmp_path / "e.csv").write_text("\n".join(["time,tag,value,quality", *lines]))
    got = read(tmp_path / "e.csv")
    assert any(words in note for note in got.notes)
    assert not any("every value of" in note and "PT-101" in note for note in got.notes)


def test_a_zip_of_a_csv(tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "e.csv", "w") as archive:
        archive.writestr("e.csv", TEXT)
    with pytest.raises(ExportFault, match="unpack it"):
        read(tmp_path / "e.csv")


def sound(path: Path) -> None:
    """Either readings that sum up, or a fault that names the file or the vessel."""
    sentence, got = None, None
    try:
        got = read(path)
    except Fault as fault:
        sentence = str(fault)
    if got is None:
        assert sentence is not None
        assert "\n" not in sentence
        assert path.name in sentence or "DA-1" in sentence
        assert sentence.endswith(".")
    else:
        assert int(got.tally.to_numpy().sum()) == got.total
        assert (got.tally.to_numpy() >= 0).all()


def damaged(draw: Callable[..., object], text: str) -> str:
    lines = text.splitlines()[:80]
    for _ in range(draw(st.integers(1, 4))):  # type: ignore[call-overload]
        at = draw(st.integers(0, len(lines) - 1))
        kind = draw(st.sampled_from(["cut", "repeat", "swap", "insert", "drop", "blank"]))
        where = draw(st.integers(0, max(len(lines[at]) - 1, 0)))  # type: ignore[call-overload]
        if kind == "cut":
            lines[at] = lines[at][:where]
        elif kind == "repeat":
            lines[at] = lines[at] * 2
        elif kind == "swap":
            lines[at] = lines[at][where:] + lines[at][:where]
        elif kind == "insert":
            piece = draw(st.text(st.sampled_from('",;\t|#\'" \n\r.-+eE0123456789NaNinf°µ\x00'), max_size=12))
            lines[at] = lines[at][:where] + str(piece) + lines[at][where:]
        elif kind == "drop" and len(lines) > 1:
            del lines[at]
        else:
            lines[at] = ""
    return "\n".join(lines)


SLOW = settings(max_examples=15, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))


@SLOW
@given(st.data())
def test_damaged_text_never_ends_in_a_traceback(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    path = tmp_path_factory.mktemp("damaged") / "e.csv"
    path.write_text(damaged(data.draw, TEXT), encoding="utf-8", newline="")
    sound(path)


@SLOW
@given(
    st.binary(max_size=3000),
    st.sampled_from([b"", b"PAR1", b"\x1f\x8b", b"\xff\xfe", b"\xef\xbb\xbf", HEADER.encode() + b"\n"]),
)
def test_any_bytes_never_end_in_a_traceback(
    tmp_path_factory: pytest.TempPathFactory, content: bytes, start: bytes
) -> None:
    path = tmp_path_factory.mktemp("bytes") / "e.csv"
    path.write_bytes(start + content)
    sound(path)


@SLOW
@given(
    st.lists(st.lists(st.floats(width=32) | st.none(), min_size=4, max_size=4), min_size=1, max_size=40),
    st.integers(1, 4000),
)
def test_any_numbers_sum_up(
    tmp_path_factory: pytest.TempPathFactory, values: list[list[float | None]], seconds: int
) -> None:
    path = tmp_path_factory.mktemp("numbers") / "e.parquet"
    time = pd.date_range("2025-01-01", periods=len(values), freq=f"{seconds}s", tz="UTC", name="time")
    pd.DataFrame(values, index=time, columns=list(FRAME), dtype="float64").to_parquet(path)
    sound(path)


@pytest.mark.parametrize("time", ["9999-12-31T00:00:00Z", "1900-01-01T00:00:00Z", "infinity"])
def test_an_absurd_date_is_counted_and_costs_no_memory(tmp_path: Path, time: str) -> None:
    (tmp_path / "e.csv").write_text(TEXT + f"{time},60,112,1100,4\n")
    got = read(tmp_path / "e.csv")
    assert len(got.hourly) <= 6
    assert (got.tally["no such time"] == 1).all()
    assert (got.tally["used"] == len(ROWS)).all()


def test_tags_of_two_ages(tmp_path: Path) -> None:
    lines = ["time,tag,value", *(row.split(",")[0] + ",PT-101," + row.split(",")[1] for row in ROWS)]
    lines += [
        f"9999-01-01T{h:02d}:00:00Z,{tag},4" for h in range(9) for tag in ("TT-103", "FT-110", "AT-120")
    ]
    sentence = told(tmp_path / "e.csv", "\n".join(lines))
    assert "more than 50 years apart" in sentence


def test_a_long_text_export_is_drafted_before_any_tag_is_known(tmp_path: Path) -> None:
    lines = ["time,tag,value", *(row.split(",")[0] + ",PT-101," + row.split(",")[1] for row in ROWS)]
    (tmp_path / "e.csv").write_text("\n".join(lines))
    assert "no role guessed for: PT-101" in draft.draft([tmp_path / "e.csv"])


@pytest.mark.parametrize(
    "times",
    [
        [f"{d:02d}.03.2025 {h:02d}:00" for d in range(13, 16) for h in range(1, 25)],
        [f"{d:02d}-Mar-2025 {h:02d}:00:00" for d in range(13, 16) for h in range(1, 25)],
        [f"2025-03-{d:02d} {h:02d}:00" for d in range(13, 16) for h in range(1, 25)],
        [f"03/{d:02d}/2025 {h:02d}:00 UTC" for d in range(13, 16) for h in range(1, 25)],
    ],
    ids=lambda times: times[0],
)
def test_the_hour_24_is_the_next_days_midnight(tmp_path: Path, times: list[str]) -> None:
    (tmp_path / "e.csv").write_text("\n".join([HEADER, *(f"{t},60,112,1100,4" for t in times)]))
    got = read(tmp_path / "e.csv")
    assert list(got.hourly.index) == list(pd.date_range("2025-03-13 01:00", periods=72, freq="h", tz="UTC"))
    assert (got.tally["used"] == 72).all()
