"""Exports → raw readings as arrays, tag by tag."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import duckdb
import numpy as np
import numpy.typing as npt

from sevenppb.detect.exports import columnar, timestamps, values
from sevenppb.detect.exports.engine import Engine
from sevenppb.detect.exports.load import Source, Value
from sevenppb.detect.exports.timestamps import Times

Floats = npt.NDArray[np.float64]
Kinds = npt.NDArray[np.uint8]
Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Raw:
    """One tag's readings of one export, in the file's order: `time` [us, of UTC or the wall clock], `value`, and
    `kind` (values.KINDS), None where all that is no number is NaN. `untimed` counts readings without a time;
    `later` marks those in the second pass of an hour that the clock repeats, where the file's order tells."""

    time: Times
    value: Floats
    kind: Kinds | None
    untimed: int
    later: Bools | None


def fetched(engine: Engine, source: Source, positions: Sequence[int], zone: str) -> dict[int, Raw]:
    """The raw readings of some of the wanted tags, by position; tags that the export doesn't hold are left out.
    `zone` is that of the export's wall clock, "UTC" where its times carry their own."""
    here = [i for i in positions if source.values[i] is not None]
    if not here:
        return {}
    try:
        return _long(engine, source, here, zone) if source.code else _wide(engine, source, here, zone)
    except duckdb.Error as error:
        raise columnar.unreadable(source.file, error) from None


def _wide(engine: Engine, source: Source, here: list[int], zone: str) -> dict[int, Raw]:
    picked = [f"{source.times[0][1]} AS t"]
    for i in here:
        picked += _picked(source.values[i], str(i))
    columns = engine.db.execute(f"SELECT {', '.join(picked)} FROM {source.relation}").fetchnumpy()
    times, timed = _times(columns.pop("t"))
    later = timestamps.second_pass(times, zone)
    untimed = 0 if timed is None else int((~timed).sum())
    raw = {}
    for i in here:
        value, kind = _values(columns.pop(f"v{i}"), columns.pop(f"k{i}", None))
        raw[i] = Raw(times, _only(value, timed), _only(kind, timed), untimed, later)
    return raw


def _long(engine: Engine, source: Source, here: list[int], zone: str) -> dict[int, Raw]:
    picked = [f"{source.times[0][1]} AS t", f"{source.code} AS code", *_picked(source.values[here[0]], "")]
    codes = ", ".join(str(i + 1) for i in here)
    sql = f"SELECT * FROM (SELECT {', '.join(picked)} FROM {source.relation}) WHERE code IN ({codes})"
    columns = engine.db.execute(sql).fetchnumpy()
    times, timed = _times(columns.pop("t"))
    every = np.asarray(columns.pop("code"), dtype=np.uint8)
    code = _only(every, timed)
    value, kind = (_only(a, timed) for a in _values(columns.pop("v"), columns.pop("k", None)))
    later = timestamps.second_pass(times, zone)
    order = np.argsort(code, kind="stable")
    read, ends = (np.bincount(c, minlength=max(here) + 2) for c in (every, code))
    ends = np.cumsum(ends)
    raw = {}
    for i in here:
        rows = order[ends[i] : ends[i + 1]]
        if read[i + 1]:
            parts = (a[rows] if a is not None else None for a in (value, kind))
            untimed = int(read[i + 1]) - len(rows)
            raw[i] = Raw(times[rows], *parts, untimed, later[rows] if later is not None else None)
    return raw


def _picked(value: Value | None, name: str) -> list[str]:
    """The expressions of a tag's value and, where it says more than NULL, its kind."""
    if value is None:
        return []
    kind = value.kind()
    return [f"{value.number} AS v{name}"] + ([f"{kind} AS k{name}"] if kind else [])


def _only(array: Any, rows: Bools | None) -> Any:
    """The rows of an array, or all; None stays None."""
    return array if rows is None or array is None else array[rows]


def _times(column: Times) -> tuple[Times, Bools | None]:
    """The times that are there, and which rows have one (None: all)."""
    if isinstance(column, np.ma.MaskedArray):
        timed = ~np.ma.getmaskarray(column)
        return np.asarray(column.data[timed], dtype=np.int64), None if timed.all() else timed
    return np.asarray(column, dtype=np.int64), None


def _values(column: Floats, kind: Kinds | None) -> tuple[Floats, Kinds | None]:
    """Values with NaN for what is missing, and their kinds where a value is anything but a number."""
    empty = None
    if isinstance(column, np.ma.MaskedArray):
        empty = np.ma.getmaskarray(column)
        column = column.filled(np.nan)
    value = np.asarray(column, dtype=np.float64)
    if kind is not None:
        kinds = np.asarray(kind, dtype=np.uint8)
        return (np.where(kinds == values.NUMBER, value, np.nan), kinds) if kinds.any() else (value, None)
    if empty is not None and empty.any():
        return value, np.where(empty, values.EMPTY, values.NUMBER).astype(np.uint8)
    return value, None
