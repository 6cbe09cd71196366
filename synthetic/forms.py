"""The forms of export: the same readings as historians, spreadsheets and loggers of many sites give them.

`FORMS` lists them; `write_vessel` writes one vessel's readings in a form and says what a fleet file must know.
"""

import gzip
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Literal

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.csv as pc_csv
import pyarrow.parquet as pq

from sevenppb.synthetic.historian import compressed
from sevenppb.synthetic.sensors import INSTRUMENTS
from sevenppb.synthetic.simulation import Simulated, assumed_barometer
from sevenppb.synthetic.units import Unit, unit_of

BAD_WORDS = ("Bad", "No Data", "I/O Timeout", "Bad Input", "")


@dataclass(frozen=True)
class Form:
    """How one vessel's export looks. `stamps` is a strftime pattern or "utc" (ISO with Z) or "epoch"; any other
    pattern shows the fleet's local time without a zone. `split` cuts the files by "year" or "month"."""

    name: str
    layout: Literal["wide", "long"]
    container: Literal["csv", "parquet"]
    units: str
    tags: Literal["instrument", "point", "words"]
    stamps: str = "utc"
    delimiter: str = ","
    comma: bool = False
    packed: bool = False
    units_row: bool = False
    comment: bool = False
    quality: Literal["codes", "words", "none"] = "none"
    split: Literal["none", "year", "month"] = "none"
    encoding: str = "utf-8"


FORMS: tuple[Form, ...] = (
    Form("wide-parquet", "wide", "parquet", "kpa", "instrument"),
    Form("wide-csv", "wide", "csv", "kpa", "instrument"),
    Form("spreadsheet", "wide", "csv", "bar", "point", "%d.%m.%Y %H:%M", ";", comma=True, units_row=True),
    Form("american", "wide", "csv", "us", "words", "%m/%d/%Y %I:%M:%S %p", packed=True),
    Form("long-csv", "long", "csv", "kpa", "point", quality="codes"),
    Form("long-parquet", "long", "parquet", "bar", "point"),
    Form("tabs", "wide", "csv", "si", "instrument", "epoch", "\t", comment=True, split="year"),
    Form("monthly-parquet", "wide", "parquet", "us", "words", split="month"),
    Form(
        "quality-words", "long", "csv", "us", "instrument", "%Y-%m-%d %H:%M:%S", quality="words", packed=True
    ),
    Form("wide-utf16", "wide", "csv", "kpa", "words", "%Y/%m/%d %H:%M:%S", ";", encoding="utf-16"),
)


@dataclass(frozen=True)
class Written:
    """What a fleet file must know of one vessel's exports: globs relative to the folder, layout, and role →
    (tag, unit, or None where the export says it)."""

    exports: tuple[str, ...]
    layout: str
    tags: dict[str, tuple[str, str | None]]


_LETTERS = {
    "shell_pressure": "PT", "storage_temperature": "TT", "steam_pressure": "PT", "steam_flow": "FT",
    "steam_temperature": "TT", "steam_valve": "ZT", "inlet_temperature": "TT", "inlet_flow": "FT",
    "outlet_flow": "FT", "outlet_oxygen": "AT", "inlet_oxygen": "AT", "vent_temperature": "TT",
    "vent_flow": "FT", "vent_valve": "ZT", "spray_differential": "PDT", "level": "LT", "drain_flow": "FT",
    "drain_temperature": "TT", "makeup_flow": "FT", "makeup_temperature": "TT",
    "barometric_pressure": "PT", "scavenger_flow": "FT",
}  # fmt: skip


def tag_name(form: Form, number: int, role: str) -> str:
    """A role's tag on the vessel with this number."""
    place = list(INSTRUMENTS).index(role) + 1
    if form.tags == "instrument":
        return f"{_LETTERS[role]}-{number}{place:02d}"
    if form.tags == "point":
        return f"U{number:02d}.{_LETTERS[role]}{place:03d}.PV"
    return f"Deaerator {number} {role.replace('_', ' ')}"


def write_vessel(folder: Path, number: int, vessel: Simulated, form: Form, timezone: str) -> Written:
    """Writes one vessel's exports under folder/exports and returns what the fleet file must know."""
    units = {role: unit_of(role, form.units, vessel.spec.gauge_transmitters) for role in vessel.readings}
    tags = {role: tag_name(form, number, role) for role in vessel.readings}
    shown = _in_units(vessel, units)
    stem = vessel.spec.id.lower().replace(" ", "-")
    (folder / "exports").mkdir(parents=True, exist_ok=True)
    suffix = ".parquet" if form.container == "parquet" else ".csv.gz" if form.packed else ".csv"
    names = []
    for part, piece in _split(shown, form, timezone):
        name = f"exports/{stem}{part}{suffix}"
        names.append(name)
        writer = _write_wide if form.layout == "wide" else _write_long
        writer(folder / name, piece, form, tags, units, timezone)
    exports = (names[0],) if form.split == "none" else (f"exports/{stem}-*{suffix}",)
    return Written(
        exports,
        form.layout,
        {role: (tags[role], None if form.units_row else units[role].label) for role in shown},
    )


def _in_units(vessel: Simulated, units: dict[str, Unit]) -> pd.DataFrame:
    assumed = assumed_barometer(vessel.spec, vessel.readings)
    shown = {}
    for role, unit in units.items():
        values = vessel.readings[role].to_numpy()
        if unit.gauge:
            values = values - assumed
        digits = int(max(0, np.ceil(-np.log10(INSTRUMENTS[role].resolution * unit.factor) - 0.3)))
        shown[role] = np.round(values * unit.factor + unit.offset, digits)
    return pd.DataFrame(shown, index=vessel.readings.index)


def _split(shown: pd.DataFrame, form: Form, timezone: str) -> Iterator[tuple[str, pd.DataFrame]]:
    if form.split == "none":
        yield "", shown
        return
    local = shown.index.tz_convert(timezone)
    key = local.year * 100 + (local.month if form.split == "month" else 0)
    for value in np.unique(key):
        part = f"-{value // 100}" + (f"-{value % 100:02d}" if form.split == "month" else "")
        yield part, shown[key == value]


def _stamps(index: pd.DatetimeIndex, form: Form, timezone: str) -> pa.Array:
    seconds = index.tz_localize(None).astype("datetime64[s]")
    if form.stamps == "epoch":
        return pa.array(seconds.astype("int64").to_numpy())
    if form.stamps == "utc":
        return pc.strftime(pa.array(seconds), "%Y-%m-%dT%H:%M:%SZ")
    local = index.tz_convert(timezone).tz_localize(None).astype("datetime64[s]")
    return pc.strftime(pa.array(local), form.stamps)


def _words(values: np.ndarray, form: Form, salt: int) -> pa.Array:
    """Readings as text, what is missing as one of the words for it, the same word over a stretch."""
    missing = np.isnan(values)
    text = pc.cast(pa.array(values), pa.string())
    if form.comma:
        text = pc.replace_substring(text, ".", ",")
    choice = (np.arange(len(values)) // 40 + salt) % len(BAD_WORDS)
    return pc.if_else(
        pa.array(missing), pa.array(np.array(BAD_WORDS, dtype=object)[choice], pa.string()), text
    )


@contextmanager
def _opened(path: Path, form: Form) -> Iterator[IO[bytes]]:
    if form.packed:
        with gzip.open(path, "wb", compresslevel=1) as packed:
            yield packed  # type: ignore[misc]
    else:
        with path.open("wb") as plain:
            yield plain


def _write_table(path: Path, table: pa.Table, form: Form, unit_labels: list[str]) -> None:
    if form.container == "parquet":
        pq.write_table(table, path, compression="zstd", compression_level=1)
        return
    head = f"# export of {path.name}\n" if form.comment else ""
    head += form.delimiter.join(table.column_names) + "\n"
    if form.units_row:
        head += form.delimiter.join(unit_labels) + "\n"
    options = pc_csv.WriteOptions(include_header=False, delimiter=form.delimiter, quoting_style="none")
    with _opened(path, form) as stream:
        if form.encoding == "utf-8":
            stream.write(head.encode())
            pc_csv.write_csv(table, stream, options)
        else:
            body = pa.BufferOutputStream()
            pc_csv.write_csv(table, body, options)
            stream.write((head + body.getvalue().to_pybytes().decode()).encode(form.encoding))


def _write_wide(
    path: Path, shown: pd.DataFrame, form: Form, tags: dict[str, str], units: dict[str, Unit], timezone: str
) -> None:
    # where the collector stood still there are no rows at all
    piece = shown[shown.notna().any(axis=1)]
    if form.container == "parquet":
        stamps = pa.array(piece.index.astype("datetime64[ms, UTC]"))
        columns = [pa.array(piece[role].to_numpy(), from_pandas=True) for role in piece]
    else:
        stamps = _stamps(piece.index, form, timezone)
        columns = [_words(piece[role].to_numpy(), form, k) for k, role in enumerate(piece)]
    table = pa.table([stamps, *columns], names=["time", *(tags[role] for role in piece)])
    _write_table(path, table, form, ["", *(units[role].label for role in piece)])


def _write_long(
    path: Path, shown: pd.DataFrame, form: Form, tags: dict[str, str], units: dict[str, Unit], timezone: str
) -> None:
    step = (shown.index[1] - shown.index[0]).total_seconds() / 3600
    places, names, values = [], [], []
    for number, role in enumerate(shown):
        series = shown[role].to_numpy()
        instrument = INSTRUMENTS[role]
        typical = np.nanmedian(np.abs(series)) if instrument.relative else units[role].factor
        stored = np.flatnonzero(compressed(series, 0.4 * instrument.accuracy * typical, round(8 / step)))
        places.append(stored)
        names.append(np.full(len(stored), number))
        values.append(series[stored])
    place, name, value = np.concatenate(places), np.concatenate(names), np.concatenate(values)
    order = np.lexsort((name, place))
    place, name, value = place[order], name[order], value[order]
    tag = pa.DictionaryArray.from_arrays(pa.array(name, pa.int16()), pa.array([tags[r] for r in shown]))
    index, missing = shown.index[place], np.isnan(value)
    if form.container == "parquet":
        stamps = pa.array(index.astype("datetime64[ms, UTC]"))
        columns = {"timestamp": stamps, "tag": tag, "value": pa.array(value, from_pandas=True)}
    else:
        columns = {
            "timestamp": _stamps(index, form, timezone),
            "tag": tag.cast(pa.string()),
            "value": _words(value, form, 0),
        }
    if form.quality != "none":
        good, bad = (192, 0) if form.quality == "codes" else ("Good", "Bad")
        columns["quality"] = pa.array(np.where(missing, bad, good))
    _write_table(path, pa.table(columns), form, [])
