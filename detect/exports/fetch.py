"""Exports → raw readings as arrays, tag by tag."""

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

import duckdb
import numpy as np
import numpy.typing as npt

from sevenppb.detect.exports import columnar, timestamps, values
from sevenppb.detect.exports.engine import Engine, literal
from sevenppb.detect.exports.load import Source, Value
from sevenppb.detect.exports.timestamps import Times

Floats = npt.NDArray[np.float64]
Kinds = npt.NDArray[np.uint8]
Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Raw:
    """One tag's readings of one export, in the file's order: `time` [us UTC], `value`, and `kind`
    (values.KINDS), None where all that is no number is NaN. `missing` marks times that the zone's clock skips
    (None: none), `untimed` counts readings without a time, `undecided` those in an hour that the clock
    repeats and nothing tells apart."""

    time: Times
    value: Floats
    kind: Kinds | None
    missing: Bools | None
    untimed: int
    undecided: int


def fetched(
    engine: Engine, source: Source, tags: Sequence[str], positions: Sequence[int], zone: str
) -> dict[int, Raw]:
    """The raw readings of some of the wanted `tags`, by position; those that the export doesn't hold are left
    out. `zone` is that of the export's wall clock, "UTC" where its times carry their own."""
    here = [i for i in positions if source.values[i] is not None]
    if not here:
        return {}
    try:
        return _long(engine, source, here, zone, tags) if source.code else _wide(engine, source, here, zone)
    except duckdb.Error as error:
        raise columnar.unreadable(source.file, error) from None


def _wide(engine: Engine, source: Source, here: list[int], zone: str) -> dict[int, Raw]:
    picked = [f"{source.row} AS r", f"{source.times[0][1]} AS t"]
    for i in here:
        picked += _picked(source.values[i], str(i))
    columns = engine.db.execute(f"SELECT {', '.join(picked)} FROM {source.relation}").fetchnumpy()
    rows = _in_order(columns.pop("r"))
    times, timed = _times(_only(columns.pop("t"), rows))
    rows = timed if rows is None else rows if timed is None else rows[timed]
    local = timestamps.to_utc(times, zone, timestamps.second_pass(times, zone))
    untimed = 0 if timed is None else int((~timed).sum())
    raw = {}
    for i in here:
        value, kind = _values(columns.pop(f"v{i}"), columns.pop(f"k{i}", None))
        raw[i] = Raw(
            local.utc, _only(value, rows), _only(kind, rows), local.missing, untimed, local.undecided
        )
    return raw


def _long(engine: Engine, source: Source, here: list[int], zone: str, tags: Sequence[str]) -> dict[int, Raw]:
    picked = [f"{source.row} AS r", f"{source.times[0][1]} AS t", f"{source.code} AS code"]
    picked += _picked(source.values[here[0]], "")
    columns = engine.db.execute(
        f"SELECT {', '.join(picked)} FROM {source.relation} {_where(source, here, tags)}"
    ).fetchnumpy()
    rows = _in_order(columns.pop("r"))
    columns = {name: _only(column, rows) for name, column in columns.items()}
    code = np.asarray(columns["code"], dtype=np.uint8)
    times, timed = _times(columns["t"])
    value, kind = _values(columns["v"], columns.get("k"))
    read = np.bincount(code, minlength=max(here) + 2)
    if timed is not None:
        code, value, kind = code[timed], value[timed], _only(kind, timed)
    later = timestamps.second_pass(times, zone)

    def one(i: int) -> Raw:
        mine = np.flatnonzero(code == i + 1)
        untimed = int(read[i + 1]) - len(mine)
        local = timestamps.to_utc(times[mine], zone, _only(later, mine))
        return Raw(local.utc, value[mine], _only(kind, mine), local.missing, untimed, local.undecided)

    with ThreadPoolExecutor() as pool:  # numpy gathers without the interpreter's lock
        return dict(zip(here, pool.map(one, here), strict=True)) if read[1:].any() else {}


def _where(source: Source, here: list[int], tags: Sequence[str]) -> str:
    """Which rows are wanted: in the engine's own table all are, unless only some tags are asked for."""
    if source.form.long is None or (source.row == "r" and len(here) == len(tags)):
        return ""
    if source.row == "r":
        return f"WHERE {source.code} IN ({', '.join(str(i + 1) for i in here)})"
    listed = ", ".join(literal(tags[i]) for i in here)
    return f"WHERE {source.form.long.tag.sql}::VARCHAR IN ({listed})"


def _in_order(row: npt.NDArray[np.int64]) -> npt.NDArray[np.int64] | None:
    """The order of the file's rows; None where they come in it."""
    row = np.asarray(row)
    return None if (row[1:] > row[:-1]).all() else np.argsort(row, kind="stable")


def _picked(value: Value | None, name: str) -> list[str]:
    """The expressions of a tag's value and, where it says more than NULL, its kind."""
    if value is None:
        return []
    return [f"{value.number} AS v{name}"] + ([f"{value.kind} AS k{name}"] if value.kind else [])


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
