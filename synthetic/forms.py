"""The forms of export: the same readings as historians, spreadsheets and loggers of many sites give them.

`FORMS` lists them; `write_vessel` writes one vessel's readings in a form and says what a fleet file must
know of it.
"""

import gzip
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.csv as pc_csv
import pyarrow.parquet as pq

from sevenppb.synthetic.historian import compressed
from sevenppb.synthetic.sensors import INSTRUMENTS
from sevenppb.synthetic.simulation import Simulated, assumed_barometer
from sevenppb.synthetic.steam import Array
from sevenppb.synthetic.units import Unit, unit_of

DEADBAND = 0.4  # of an instrument's accuracy: what a historian that stores exceptions leaves out
LONGEST_SILENCE = 8  # [h] after which it stores a value all the same
BAD_WORDS = ("Bad", "No Data", "I/O Timeout", "Bad Input", "")


@dataclass(frozen=True)
class Form:
    """How one vessel's export looks. `stamps` is "utc" (ISO with Z), "epoch" or a strftime pattern, which
    shows the fleet's local time without a zone. `split` cuts the files by "year" or "month"."""

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


@dataclass(frozen=True)
class _Part:
    """What goes into one file: times and, in one order, roles' tags, unit labels, readings in those units
    with NaN where there is none, and how far a reading may stray unstored in a long export."""

    index: pd.DatetimeIndex
    tags: list[str]
    labels: list[str]
    values: list[Array]
    deadbands: list[float]


def write_vessel(folder: Path, number: int, vessel: Simulated, form: Form, timezone: str) -> Written:
    """Writes one vessel's exports under folder/exports and returns what the fleet file must know."""
    roles = [str(role) for role in vessel.readings.columns]
    units = {role: unit_of(role, form.units, vessel.spec.gauge_transmitters) for role in roles}
    assumed = assumed_barometer(vessel.spec, vessel.readings)
    whole = _Part(
        pd.DatetimeIndex(vessel.readings.index),
        [tag_name(form, number, role) for role in roles],
        [units[role].label for role in roles],
        [
            _in_unit(vessel.readings[role].to_numpy(dtype=np.float64), role, units[role], assumed)
            for role in roles
        ],
        [
            _deadband(vessel.readings[role].to_numpy(dtype=np.float64), role) * units[role].factor
            for role in roles
        ],
    )
    stem = vessel.spec.id.lower().replace(" ", "-")
    suffix = ".parquet" if form.container == "parquet" else ".csv.gz" if form.packed else ".csv"
    (folder / "exports").mkdir(parents=True, exist_ok=True)
    for name, part in _parts(whole, form, timezone):
        path = folder / f"exports/{stem}{name}{suffix}"
        table = _wide(part, form, timezone) if form.layout == "wide" else _long(part, form, timezone)
        _write(path, table, form, ["", *part.labels])
    exports = f"exports/{stem}{suffix}" if form.split == "none" else f"exports/{stem}-*{suffix}"
    said = [None if form.units_row else label for label in whole.labels]
    return Written((exports,), form.layout, dict(zip(roles, zip(whole.tags, said, strict=True), strict=True)))


def _in_unit(reading: Array, role: str, unit: Unit, assumed: Array) -> Array:
    digits = int(max(0, np.ceil(-np.log10(INSTRUMENTS[role].resolution * unit.factor) - 0.3)))
    shown = (reading - assumed if unit.gauge else reading) * unit.factor + unit.offset
    return np.asarray(np.round(shown, digits))


def _deadband(reading: Array, role: str) -> float:
    instrument = INSTRUMENTS[role]
    typical = float(np.nanmedian(np.abs(reading))) if instrument.relative else 1.0
    return DEADBAND * instrument.accuracy * typical


def _parts(whole: _Part, form: Form, timezone: str) -> Iterator[tuple[str, _Part]]:
    if form.split == "none":
        yield "", whole
        return
    local = whole.index.tz_convert(timezone)
    pattern = "-%Y" if form.split == "year" else "-%Y-%m"
    key = np.asarray(local.year * 100 + (local.month if form.split == "month" else 0))
    for value in np.unique(key):
        inside = np.flatnonzero(key == value)
        index = whole.index[inside]
        name = local[inside[0]].strftime(pattern)
        yield name, _Part(index, whole.tags, whole.labels, [v[inside] for v in whole.values], whole.deadbands)


def _stamps(index: pd.DatetimeIndex, form: Form, timezone: str) -> pa.Array:
    if form.container == "parquet":
        return pa.array(index.as_unit("ms"))
    seconds = index.as_unit("s").tz_localize(None)
    if form.stamps == "epoch":
        return pa.array(seconds.to_numpy().astype(np.int64))
    if form.stamps == "utc":
        return pc.strftime(pa.array(seconds), "%Y-%m-%dT%H:%M:%SZ")
    return pc.strftime(pa.array(index.tz_convert(timezone).tz_localize(None).as_unit("s")), form.stamps)


def _column(values: Array, form: Form, salt: int) -> pa.Array:
    """Readings for a table; in text, what is missing becomes a word for it, the same over a stretch."""
    if form.container == "parquet":
        return pa.array(values, from_pandas=True)
    text = pc.cast(pa.array(values), pa.string())
    if form.comma:
        text = pc.replace_substring(text, ".", ",")
    choice = (np.arange(len(values)) // 40 + salt) % len(BAD_WORDS)
    words = pa.array(np.array(BAD_WORDS, dtype=object)[choice], pa.string())
    return pc.if_else(pa.array(np.isnan(values)), words, text)


def _wide(part: _Part, form: Form, timezone: str) -> pa.Table:
    # where the collector stood still there are no rows at all
    there = np.flatnonzero(~np.all([np.isnan(v) for v in part.values], axis=0))
    columns = [_column(values[there], form, k) for k, values in enumerate(part.values)]
    return pa.table([_stamps(part.index[there], form, timezone), *columns], names=["time", *part.tags])


def _long(part: _Part, form: Form, timezone: str) -> pa.Table:
    per_hour = round(3600 / (part.index[1] - part.index[0]).total_seconds())
    stored = [
        np.flatnonzero(compressed(values, deadband, LONGEST_SILENCE * per_hour))
        for values, deadband in zip(part.values, part.deadbands, strict=True)
    ]
    place = np.concatenate(stored)
    which = np.repeat(np.arange(len(stored)), [len(s) for s in stored])
    value = np.concatenate([values[s] for values, s in zip(part.values, stored, strict=True)])
    order = np.lexsort((which, place))
    place, which, value = place[order], which[order], value[order]
    columns = {
        "timestamp": _stamps(part.index[place], form, timezone),
        "tag": pa.DictionaryArray.from_arrays(pa.array(which, pa.int16()), pa.array(part.tags)),
        "value": _column(value, form, 0),
    }
    if form.quality != "none":
        good, bad = (192, 0) if form.quality == "codes" else ("Good", "Bad")
        columns["quality"] = pa.array(np.where(np.isnan(value), bad, good))
    return pa.table(columns)


def _write(path: Path, table: pa.Table, form: Form, labels: list[str]) -> None:
    if form.container == "parquet":
        pq.write_table(table, path, compression="zstd", compression_level=1)
        return
    lines = [f"# export of {path.name}"] if form.comment else []
    lines.append(form.delimiter.join(table.column_names))
    if form.units_row:
        lines.append(form.delimiter.join(labels))
    head = "".join(f"{line}\n" for line in lines)
    options = pc_csv.WriteOptions(include_header=False, delimiter=form.delimiter, quoting_style="none")
    body = pa.BufferOutputStream()
    pc_csv.write_csv(table, body, options)
    content = body.getvalue().to_pybytes()
    content = head.encode() + content
    if form.encoding != "utf-8":
        content = content.decode().encode(form.encoding)
    # the time of packing is left out, so that the same plan gives the same bytes
    path.write_bytes(gzip.compress(content, compresslevel=1, mtime=0) if form.packed else content)
