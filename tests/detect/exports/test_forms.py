"""One vessel's readings, written in every form that exports have, give the same hourly readings and incidents."""

import decimal
import gzip
from collections.abc import Callable, Iterable
from pathlib import Path

import made_vessels
import numpy as np
import pandas as pd
import plant
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from sevenppb.detect import vessel_scan
from sevenppb.detect.exports.read import read_vessel
from sevenppb.detect.fleet import TagRef
from sevenppb.synthetic.simulation import Simulated

Frame = pd.DataFrame
UNITS = {"PT-101": "kPa(g)", "TT-103": "°C", "FT-110": "t/h", "AT-120": "ppb"}


def local(frame: Frame) -> pd.DatetimeIndex:
    return frame.index.tz_convert(plant.ZONE).tz_localize(None)


def number(value: float, decimal: str = ".", thousands: str = "") -> str:
    text = f"{value:,.3f}".replace(",", "T").replace(".", decimal)
    return text.replace("T", thousands)


def table(
    frame: Frame,
    times: Iterable[str],
    sep: str = ",",
    decimal: str = ".",
    thousands: str = "",
    quote: bool = False,
    header: str | None = None,
) -> str:
    """The wide text table of a frame."""

    def cell(value: float) -> str:
        text = "" if np.isnan(value) else number(value, decimal, thousands)
        return f'"{text}"' if quote else text

    lines = [header if header is not None else sep.join(["Time", *frame.columns])]
    lines += [sep.join([t, *map(cell, row)]) for t, row in zip(times, frame.to_numpy(), strict=True)]
    return "\n".join(lines) + "\n"


def iso(frame: Frame) -> list[str]:
    return list(frame.index.strftime("%Y-%m-%dT%H:%M:%SZ"))


def long_table(
    frame: Frame, times: list[str], head: str, line: Callable[[str, str, float], str], by_tag: bool
) -> str:
    cells = [
        (t, tag, v)
        for t, row in zip(times, frame.to_numpy(), strict=True)
        for tag, v in zip(frame, row, strict=True)
    ]
    if by_tag:
        cells.sort(key=lambda c: c[1])  # stable: times stay in order
    return "\n".join([head, *(line(*c) for c in cells if not np.isnan(c[2]))]) + "\n"


def melted(frame: Frame) -> Frame:
    return (
        frame.reset_index()
        .melt("timestamp", var_name="tag", value_name="value")
        .sort_values("timestamp", kind="stable")
    )


def exceptions(frame: Frame) -> Frame:
    """Only values that differ from the one before."""
    return frame.where(frame.ne(frame.shift()))


FORMS: dict[str, Callable[[Frame, Path], object]] = {}


def form(function: Callable[[Frame, Path], object]) -> Callable[[Frame, Path], object]:
    FORMS[function.__name__] = function
    return function


def text_form(name: str, make: Callable[[Frame], str], encoding: str = "utf-8") -> None:
    FORMS[name] = lambda frame, folder: (folder / "export.csv").write_text(
        make(frame), encoding=encoding, newline=""
    )


text_form("wide comma, iso zoned", lambda f: table(f, iso(f)))
text_form("wide semicolon, decimal comma", lambda f: table(f, iso(f), ";", ","))
text_form("wide tab", lambda f: table(f, iso(f), "\t"))
text_form("wide bar", lambda f: table(f, iso(f), "|"))
text_form("thousands quoted in a comma file", lambda f: table(f, iso(f), ",", ".", ",", quote=True))
text_form("thousands points, decimal comma", lambda f: table(f, iso(f), ";", ",", "."))
text_form("thousands blanks, decimal comma", lambda f: table(f, iso(f), ";", ",", "\u00a0"))
text_form("thousands apostrophes", lambda f: table(f, iso(f), ";", ".", "'"))
text_form("byte order mark", lambda f: table(f, iso(f)), "utf-8-sig")
text_form("utf-16", lambda f: table(f, iso(f), "\t"), "utf-16")
text_form("utf-16 big endian, no mark", lambda f: table(f, iso(f), ";"), "utf-16-be")
text_form(
    "latin-1 with degree sign",
    lambda f: table(f, iso(f), ";", header="Tid;PT-101;TT-103 (°C);FT-110;AT-120"),
    "latin-1",
)
text_form("carriage returns too", lambda f: table(f, iso(f)).replace("\n", "\r\n"))
text_form(
    "header ends otherwise than data",
    lambda f: table(f, iso(f)).replace("\n", "\r\n").replace("\r\n", "\n", 1),
)
text_form("preamble", lambda f: "Report: export\nPlant;Northmere\n\nFrom,2025-10-24\n" + table(f, iso(f)))
text_form(
    "comment lines", lambda f: "# made at night\n" + table(f, iso(f)).replace("\n", "\n# a comment, too\n", 9)
)
text_form("header in a comment", lambda f: "#" + table(f, iso(f)))
text_form(
    "units row", lambda f: table(f, iso(f), header="Time,PT-101,TT-103,FT-110,AT-120\n,kPa(g),°C,t/h,ppb")
)
text_form(
    "description and units rows",
    lambda f: table(
        f,
        iso(f),
        header="Time,PT-101,TT-103,FT-110,AT-120\n,Shell,Storage,Feed,Oxygen\nUTC,kPa(g),°C,t/h,ppb",
    ),
)
text_form(
    "units in the header",
    lambda f: table(f, iso(f), header="Time,PT-101 [kPa(g)],TT-103 (°C),FT-110 (t/h),AT-120 [ppb]"),
)
text_form("trailing delimiter", lambda f: table(f, iso(f)).replace("\n", ",\n"))
text_form("local time with the repeated hour", lambda f: table(f, local(f).strftime("%Y-%m-%d %H:%M:%S")))
text_form("local time, newest first", lambda f: table(f[::-1], local(f[::-1]).strftime("%Y-%m-%d %H:%M:%S")))
text_form("offset", lambda f: table(f, [t.isoformat(" ") for t in f.index.tz_convert(plant.ZONE)]))
text_form(
    "offset without colon",
    lambda f: table(f, f.index.tz_convert(plant.ZONE).strftime("%Y-%m-%d %H:%M:%S %z")),
)
text_form("day first", lambda f: table(f, local(f).strftime("%d/%m/%Y %H:%M:%S")))
text_form(
    "day first with points, short year", lambda f: table(f, local(f).strftime("%d.%m.%y %H:%M"), ";", ",")
)
text_form("month first, AM and PM", lambda f: table(f, local(f).strftime("%m/%d/%Y %I:%M:%S %p")))
text_form("month's name", lambda f: table(f, local(f).strftime("%d-%b-%Y %H:%M:%S")))
text_form("milliseconds", lambda f: table(f, local(f).strftime("%Y-%m-%d %H:%M:%S.000")))
text_form("milliseconds after a comma", lambda f: table(f, local(f).strftime("%Y-%m-%d %H:%M:%S,000"), ";"))
text_form("slashes, year first", lambda f: table(f, local(f).strftime("%Y/%m/%d %H:%M")))
text_form("compact", lambda f: table(f, local(f).strftime("%Y%m%d %H%M%S").str.replace(" ", "T")))
text_form(
    "date and clock apart",
    lambda f: table(
        f, local(f).strftime("%d.%m.%Y;%H:%M:%S"), ";", ",", header="Dato;Kl;PT-101;TT-103;FT-110;AT-120"
    ),
)
text_form("epoch seconds", lambda f: table(f, (f.index.as_unit("s").asi8).astype(str)))
text_form("epoch milliseconds", lambda f: table(f, (f.index.as_unit("ms").asi8).astype(str)))
text_form(
    "spreadsheet days",
    lambda f: table(
        f, [f"{d:.10f}".replace(".", ",") for d in local(f).as_unit("s").asi8 / 86400 + 25569], ";", ","
    ),
)
text_form("long", lambda f: long_table(f, iso(f), "timestamp,tag,value", "{},{},{:.3f}".format, False))
text_form(
    "long by tag, local",
    lambda f: long_table(
        f, list(local(f).strftime("%d.%m.%Y %H:%M:%S")), "Tag;Zeit;Wert", "{1};{0};{2:.3f}".format, True
    ),
)
text_form(
    "long, quality words",
    lambda f: long_table(f, iso(f), "t,name,val,quality", "{},{},{:.3f},Good".format, False),
)
text_form(
    "long, OPC codes", lambda f: long_table(f, iso(f), "t,name,val,q", "{},{},{:.3f},192".format, False)
)
text_form("long, no header", lambda f: long_table(f, iso(f), "", "{},{},{:.3f}".format, False).lstrip("\n"))
text_form(
    "by exception, wide",
    lambda f: table(exceptions(f).dropna(how="all"), iso(exceptions(f).dropna(how="all"))),
)
text_form(
    "by exception, long",
    lambda f: long_table(exceptions(f), iso(f), "timestamp,tag,value", "{},{},{:.3f}".format, True),
)


@form
def long_with_units(frame: Frame, folder: Path) -> None:
    text = long_table(
        frame, iso(frame), "timestamp,point,value,uom", lambda t, n, v: f"{t},{n},{v:.3f},{UNITS[n]}", False
    )
    (folder / "export.csv").write_text(text, encoding="utf-8")


@form
def gzipped(frame: Frame, folder: Path) -> None:
    (folder / "export.csv.gz").write_bytes(gzip.compress(table(frame, iso(frame)).encode()))


@form
def zstandard(frame: Frame, folder: Path) -> None:
    with pa.CompressedOutputStream(str(folder / "export.csv.zst"), "zstd") as out:
        out.write(table(frame, iso(frame)).encode())


@form
def zstandard_utf16(frame: Frame, folder: Path) -> None:
    with pa.CompressedOutputStream(str(folder / "export.txt"), "zstd") as out:
        out.write(table(frame, iso(frame), "\t").encode("utf-16"))


@form
def days_apart_and_overlapping(frame: Frame, folder: Path) -> None:
    for i, (_, day) in enumerate(frame.groupby(frame.index.date)):
        low = frame.index.get_loc(day.index[0])
        part = frame.iloc[max(low - 30, 0) : low + len(day)]
        (folder / f"export-{i}.csv").write_text(table(part, iso(part)))


@form
def daily_ambiguous_dates_settled_by_another(frame: Frame, folder: Path) -> None:
    early = frame.copy()
    early.index = early.index - pd.Timedelta(days=16)  # 2025-10-08 to -11: could be August to November
    for name, part in (("a", early[early.index.tz_convert(plant.ZONE).day == 10]), ("b", frame)):
        (folder / f"export-{name}.csv").write_text(table(part, local(part).strftime("%d/%m/%Y %H:%M:%S")))


@form
def parquet_wide(frame: Frame, folder: Path) -> None:
    frame.reset_index().to_parquet(folder / "export.parquet", index=False)


@form
def parquet_indexed(frame: Frame, folder: Path) -> None:
    frame.to_parquet(folder / "export.parquet")


@form
def parquet_local(frame: Frame, folder: Path) -> None:
    frame.set_axis(local(frame)).rename_axis("time").to_parquet(folder / "export.parquet")


@form
def parquet_long_dictionary(frame: Frame, folder: Path) -> None:
    melted(frame).astype({"tag": "category"}).to_parquet(folder / "export.parquet", index=False)


@form
def parquet_partitioned(frame: Frame, folder: Path) -> None:
    pq.write_to_dataset(
        pa.Table.from_pandas(melted(frame), preserve_index=False), folder / "export", partition_cols=["tag"]
    )


@form
def parquet_partitioned_by_day(frame: Frame, folder: Path) -> None:
    whole = frame.reset_index().assign(day=frame.index.strftime("%Y-%m-%d"))
    pq.write_to_dataset(
        pa.Table.from_pandas(whole, preserve_index=False), folder / "export", partition_cols=["day"]
    )


@form
def parquet_decimals(frame: Frame, folder: Path) -> None:
    exact = {
        c: pa.array([decimal.Decimal(f"{v:.3f}") for v in frame[c]], pa.decimal128(12, 3)) for c in frame
    }
    pq.write_table(pa.table({"timestamp": frame.index, **exact}), folder / "export.parquet")


@form
def parquet_text_values(frame: Frame, folder: Path) -> None:
    melted(frame).assign(value=lambda m: m["value"].map("{:.3f}".format)).to_parquet(
        folder / "export.parquet", index=False
    )


@form
def parquet_text_times(frame: Frame, folder: Path) -> None:
    frame.set_axis(local(frame).strftime("%d/%m/%Y %H:%M:%S")).rename_axis("when").to_parquet(
        folder / "export.parquet"
    )


@form
def parquet_epoch(frame: Frame, folder: Path) -> None:
    frame.set_axis(frame.index.as_unit("ms").asi8).rename_axis("time").to_parquet(folder / "export.parquet")


@form
def parquet_wide_quality(frame: Frame, folder: Path) -> None:
    whole = frame.copy()
    for tag in frame:
        whole[f"{tag}.quality"] = np.int16(192)
    whole.to_parquet(folder / "export.parquet")


@form
def mixed_parquet_and_text(frame: Frame, folder: Path) -> None:
    frame[:2000].to_parquet(folder / "export.parquet")
    (folder / "export.csv").write_text(table(frame[2000:], iso(frame[2000:]), ";", ","))


for _unit in ("s", "ms", "us", "ns"):
    FORMS[f"parquet in {_unit}"] = lambda frame, folder, unit=_unit: pq.write_table(
        pa.table(
            {
                "timestamp": pa.array(frame.index.tz_localize(None), pa.timestamp(unit)).cast(
                    pa.timestamp(unit, "UTC")
                ),
                **{c: frame[c].to_numpy() for c in frame},
            }
        ),
        folder / "export.parquet",
    )


@pytest.fixture(scope="module")
def frame() -> Frame:
    return plant.readings()


@pytest.fixture(scope="module")
def hourly(frame: Frame) -> Frame:
    return plant.expected(frame)


@pytest.mark.parametrize("name", FORMS)
def test_every_form_gives_the_same_hours(name: str, frame: Frame, hourly: Frame, tmp_path: Path) -> None:
    FORMS[name](frame, tmp_path)
    got = read_vessel(plant.vessel(tmp_path / "export*"), plant.fleet(), None, None)
    got_hours = got.hourly.reindex(hourly.index)
    assert list(got.hourly.columns) == list(plant.TAGS)
    np.testing.assert_allclose(got_hours.to_numpy(), hourly.to_numpy(), rtol=1e-6, atol=0)
    assert int(got.tally.to_numpy().sum()) == got.total
    if not name.startswith("daily"):
        assert len(got.hourly) == len(hourly)


# one of each kind: marks, clocks, order, layout, containers, storing by exception
KINDS = (
    "wide comma, iso zoned", "thousands points, decimal comma", "month first, AM and PM", "long by tag, local",
    "by exception, wide",
)  # fmt: skip


def test_every_kind_of_form_gives_the_same_incidents(made: dict[str, Simulated], tmp_path: Path) -> None:
    """What a scan is made from is the same to the last bit, so that one scan stands for all; storing by exception
    alone gives other counts, and is scanned too."""
    told = made["tray-damage"].readings
    frame = pd.DataFrame(
        {
            "PT-101": (told["shell_pressure"] - 101325.0) / 1000.0,
            "TT-103": told["storage_temperature"],
            "FT-110": told["outlet_flow"] * 3.6,
            "AT-120": told["outlet_oxygen"],
        }
    ).round(3)
    frame.index.name = "timestamp"
    readings = {}
    for name in KINDS:
        folder = tmp_path / name.replace(" ", "-")
        folder.mkdir()
        FORMS[name](frame, folder)
        vessel = plant.vessel(folder / "export*", baseline=pd.Timedelta(days=made_vessels.BASELINE))
        readings[name] = read_vessel(vessel, plant.fleet(), None, None)
    first = readings[KINDS[0]]
    for name in KINDS[1:-1]:
        pd.testing.assert_frame_equal(readings[name].hourly, first.hourly, check_exact=True)
        pd.testing.assert_frame_equal(readings[name].count, first.count)
        pd.testing.assert_frame_equal(readings[name].spread, first.spread, check_exact=True)
        assert readings[name].stuck == first.stuck
    found = [vessel_scan.scan_vessel(vessel, readings[name]).incidents for name in (KINDS[0], KINDS[-1])]
    assert "tray-damage" in [one.cause for one in found[0]]
    for one, other in zip(*found, strict=True):
        assert (one.cause, one.shape) == (other.cause, other.shape)
        assert one.onset_interval[0] <= other.onset <= one.onset_interval[1]
        assert one.magnitude.low <= other.magnitude.value <= one.magnitude.high


@pytest.mark.parametrize(
    "name", ["units row", "units in the header", "description and units rows", "long_with_units"]
)
def test_units_of_the_export_serve_where_the_fleet_file_has_none(
    name: str, frame: Frame, hourly: Frame, tmp_path: Path
) -> None:
    FORMS[name](frame, tmp_path)
    tags = {role: TagRef(reference.tag, None) for role, reference in plant.TAGS.items()}
    got = read_vessel(plant.vessel(tmp_path / "export*", tags=tags), plant.fleet(), None, None)
    np.testing.assert_allclose(got.hourly.to_numpy(), hourly.to_numpy(), rtol=1e-6, atol=0)
