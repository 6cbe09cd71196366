"""Exports → raw readings as arrays, tag by tag."""

import os
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

import duckdb
import numpy as np
import numpy.typing as npt

from sevenppb.detect.exports import columnar, local_time, values
from sevenppb.detect.exports.engine import Engine, literal
from sevenppb.detect.exports.load import FILE_ROW, FILTERED_ROWS, Source, Value
from sevenppb.detect.exports.local_time import Times

Floats = npt.NDArray[np.float64]
Kinds = npt.NDArray[np.uint8]
Bools = npt.NDArray[np.bool_]
Rows = npt.NDArray[np.int64]
Column = tuple[npt.NDArray[Any], Bools | None]


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


def fetched(engine: Engine, source: Source, tags: Sequence[str], zone: str, only: str) -> dict[int, Raw]:
    """The raw readings of the wanted `tags`, by position; those that the export doesn't hold are left out. `zone` is
    that of the export's wall clock, "UTC" where its times carry their own; `only` is the engine's condition for
    the rows that are asked for."""
    here = [i for i, value in enumerate(source.values) if value is not None]
    if not here:
        return {}
    try:
        if source.code:
            return _long(engine, source, here, zone, f"WHERE {only}{_and_tags(source, here, tags)}")
        return _wide(engine, source, here, zone, f"WHERE {only}")
    except duckdb.Error as error:
        raise columnar.unreadable(source.file, error) from None


def _wide(engine: Engine, source: Source, here: list[int], zone: str, where: str) -> dict[int, Raw]:
    picked = [*_numbered(source), f"{source.times[0][1]} AS t"]
    for i in here:
        picked += _picked(source.values[i], str(i))
    columns = _columns(engine, f"SELECT {', '.join(picked)} FROM {source.relation} {where}")
    times, timed = columns.pop("t")
    row = columns.pop("r", (None, None))[0]
    rows = _in_order(row, timed)
    times = _only(times, rows)
    apart = _apart(source, _only(row, rows), times)
    local = local_time.to_utc(times, zone, local_time.passes(times, zone, apart), apart)
    untimed = 0 if timed is None else int((~timed).sum())
    raw = {}
    for i in here:
        value, kind = _values(columns.pop(f"v{i}"), columns.pop(f"k{i}", None))
        raw[i] = Raw(
            local.utc, _only(value, rows), _only(kind, rows), local.missing, untimed, local.undecided
        )
    return raw


def _long(engine: Engine, source: Source, here: list[int], zone: str, where: str) -> dict[int, Raw]:
    picked = [*_numbered(source), f"{source.times[0][1]} AS t", f"{source.code} AS code"]
    picked += _picked(source.values[here[0]], "")
    columns = _columns(engine, f"SELECT {', '.join(picked)} FROM {source.relation} {where}")
    times, timed = columns.pop("t")
    code = columns.pop("code")[0]
    read = np.bincount(code, minlength=max(here) + 2) if timed is not None else None
    row = columns.pop("r", (None, None))[0]
    rows = _in_order(row, timed)
    code, times = _only(code, rows), _only(times, rows)
    apart = _apart(source, _only(row, rows), times)
    value, kind = (_only(column, rows) for column in _values(columns["v"], columns.get("k")))
    known = local_time.passes(times, zone, apart)

    def one(i: int) -> Raw | None:
        mine = np.flatnonzero(code == i + 1)
        untimed = 0 if read is None else int(read[i + 1]) - len(mine)
        if len(mine) + untimed == 0:
            return None
        own = np.searchsorted(mine, apart)
        local = local_time.to_utc(times[mine], zone, _only(known, mine), own)
        return Raw(local.utc, value[mine], _only(kind, mine), local.missing, untimed, local.undecided)

    with ThreadPoolExecutor(os.cpu_count()) as pool:  # numpy gathers without the interpreter's lock
        return {i: raw for i, raw in zip(here, pool.map(one, here), strict=True) if raw is not None}


def _columns(engine: Engine, sql: str) -> dict[str, Column]:
    """A query's columns as arrays, each with a mask of what is there (None: all). By way of Arrow: the engine's own
    arrays cost as much as parsing."""
    table = engine.db.sql(sql).to_arrow_table()
    with ThreadPoolExecutor(os.cpu_count()) as pool:  # Arrow copies without the interpreter's lock
        return dict(zip(table.column_names, pool.map(_column, table.columns), strict=True))


def _column(chunks: Any) -> Column:
    column, there = chunks.combine_chunks(), None
    if column.null_count:
        there = column.is_valid().to_numpy(zero_copy_only=False)
        column = column.fill_null(np.nan if column.type == "double" else 0)
    return column.to_numpy(), there


def _and_tags(source: Source, here: list[int], tags: Sequence[str]) -> str:
    """The condition for the wanted tags' rows of a long export that lies in its file, where it is large."""
    if source.form.long is None or source.rows <= FILTERED_ROWS or source.relation != source.raw:
        return ""
    listed = ", ".join(literal(tags[i]) for i in here)
    return f" AND {source.form.long.tag.sql}::VARCHAR IN ({listed})"


def _numbered(source: Source) -> list[str]:
    """The expression of a row's number. The engine hands out one Parquet file in its own order: there it would only be
    carried about."""
    return [] if source.row == FILE_ROW and not source.parts else [f"{source.row} AS r"]


def _in_order(row: Rows | None, timed: Bools | None) -> Rows | None:
    """The rows that have a time, in the file's order; None where that is all of them as they come."""
    if row is None or (row[1:] > row[:-1]).all():
        return None if timed is None else np.flatnonzero(timed)
    order = np.argsort(row, kind="stable")
    return order if timed is None else order[timed[order]]


def _apart(source: Source, row: Rows | None, times: Times) -> Rows:
    """Where the rows of a file begin that does not go on after the one before it."""
    if row is None:
        return np.zeros(0, dtype=np.int64)
    begins = np.array([part.start for part in source.parts[1:]], dtype=np.int64)
    return local_time.starts(times, np.searchsorted(row, begins))


def _picked(value: Value | None, name: str) -> list[str]:
    """The expressions of a tag's value and, where it says more than NULL, its kind."""
    if value is None:
        return []
    return [f"{value.number} AS v{name}"] + ([f"{value.kind} AS k{name}"] if value.kind else [])


def _only(array: Any, rows: npt.NDArray[Any] | None) -> Any:
    """The rows of an array, or all; None stays None."""
    return array if rows is None or array is None else array[rows]


def _values(column: Column, kind: Column | None) -> tuple[Floats, Kinds | None]:
    """Values with NaN for what is missing, and their kinds where a value is anything but a number."""
    value, there = column
    if kind is not None and kind[0].any():
        return np.where(kind[0] == values.NUMBER, value, np.nan), kind[0]
    if kind is None and there is not None:
        return value, np.where(there, values.NUMBER, values.EMPTY).astype(np.uint8)
    return value, None
