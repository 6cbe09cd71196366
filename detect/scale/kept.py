"""One vessel's result as one Parquet file: its days as the table, all else as JSON in the file's metadata.

It is what worker processes and machines hand back, and what a second run finds: no code can hide in it.
"""

import contextlib
import dataclasses
import functools
import io
import json
import sys
import types
import typing
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq

from sevenppb.detect.errors import VesselFault
from sevenppb.detect.incidents.incident import VesselScan

_RECORD, _STAMP = b"sevenppb.vessel", b"sevenppb.stamp"
_FRAMES = ("daily", "tally")
# what only a report's part on the vessel tells: nine tenths of a record
_LEFT = ("coverage", "notes", "units", "tally", "marks", "health")
_HELD = (
    *(field.name for field in dataclasses.fields(VesselScan) if field.name not in (*_LEFT, "daily")),
    "place",
    "stamp",
)


class KeptScan(VesselScan):
    """A result that holds what ranks and counts a fleet. Its days and all that is told of the vessel by itself stay in
    their file and are read whenever they are asked for: neither need fit into memory for a whole fleet. A change of its
    fields goes by `changed`, not by dataclasses.replace."""

    __slots__ = ("place", "stamp")
    place: str
    stamp: bytes

    def __getattr__(self, name: str) -> Any:
        """Only asked for what the record does not hold."""
        if name == "daily":
            return _days(self.place, self.stamp)
        if name in _LEFT:
            return _left(self.place, self.stamp, name)
        raise AttributeError(name)


@functools.lru_cache(maxsize=1)  # reports ask for a vessel's days dozens of times on end
def _days(place: str, stamp: bytes) -> pd.DataFrame:
    days: pd.DataFrame = _stored(place, stamp).to_pandas(use_threads=False)
    return days


@functools.lru_cache(maxsize=len(_LEFT))  # and for these as often
def _left(place: str, stamp: bytes, name: str) -> Any:
    return _reader(_hints(VesselScan)[name])(_record(place, stamp)[name])


@functools.lru_cache(maxsize=1)
def _record(place: str, stamp: bytes) -> Any:
    with _file(place, stamp) as file:
        return json.loads(file.metadata.metadata[_RECORD])


def _stored(place: str, stamp: bytes) -> pa.Table:
    with _file(place, stamp) as file:
        return file.read(use_threads=False)  # to share so little out takes longer than to read it


@contextlib.contextmanager
def _file(place: str, stamp: bytes) -> Iterator[pq.ParquetFile]:
    """The file that holds the result. Raises VesselFault where it can't be read, or where another scan into the same
    folder has put another one there meanwhile."""
    with contextlib.suppress(OSError, pa.ArrowException), pq.ParquetFile(place) as file:
        if (file.metadata.metadata or {}).get(_STAMP) == stamp:
            yield file
            return
    raise VesselFault(
        f"{place}: was removed, damaged or written anew while it was in use. Run one scan at a time into a "
        "folder; run this one again."
    )


def table(result: VesselScan) -> pa.Table:
    """A result's days as columns, with the day itself as the column that `day` names; those that stay in their file
    straight from there."""
    if isinstance(result, KeptScan):
        return _stored(result.place, result.stamp)
    return pa.Table.from_pandas(result.daily)


def columns(result: VesselScan) -> pa.Schema:
    """What `table` gives, without the days."""
    if isinstance(result, KeptScan):
        with contextlib.suppress(OSError, pa.ArrowException):
            return pq.read_schema(result.place)
    return table(result).schema


def day(columns: pa.Schema) -> str:
    """The name of the column that holds the day."""
    name: str = columns.pandas_metadata["index_columns"][0]
    return name


def changed(result: VesselScan, **fields: Any) -> VesselScan:
    """The result with other values in some fields; what stays in a file stays there."""
    if not isinstance(result, KeptScan):
        return dataclasses.replace(result, **fields)
    return _held({name: getattr(result, name) for name in _HELD} | fields)


def encoded(result: VesselScan, stamp: str) -> bytes:
    """The file's content. `stamp` says what the result was made from."""
    record = {
        field.name: getattr(result, field.name)
        for field in dataclasses.fields(VesselScan)
        if field.name not in _FRAMES
    }
    tally = result.tally
    record["tally"] = {
        "index": list(tally.index),
        "columns": {str(name): column.tolist() for name, column in tally.items()},
    }
    days = table(result)
    told = json.dumps(record, default=_plain, ensure_ascii=False).encode()
    metadata = {**(days.schema.metadata or {}), _RECORD: told, _STAMP: stamp.encode()}
    content = io.BytesIO()
    # numbers that seldom repeat: to pack them, a dictionary of them and their extremes would cost more than they save
    pq.write_table(
        days.replace_schema_metadata(metadata),
        content,
        compression="none",
        use_dictionary=False,
        write_statistics=False,
    )
    return content.getvalue()


def stamp_of(place: Path) -> str | None:
    """What the kept result was made from; None where there is none that can be read."""
    try:
        metadata = pq.read_metadata(place).metadata or {}
    except (OSError, pa.ArrowException):
        return None
    return metadata[_STAMP].decode() if _STAMP in metadata and _RECORD in metadata else None


def opened(place: Path) -> VesselScan:
    """A kept result, most of it left in the file."""
    metadata = pq.read_metadata(place).metadata
    record = json.loads(metadata[_RECORD])
    held = _fields(record, [name for name in record if name not in _LEFT])
    return _held({**held, "place": str(place.absolute()), "stamp": metadata[_STAMP]})


def _held(values: dict[str, Any]) -> KeptScan:
    result: KeptScan = object.__new__(KeptScan)
    for name, value in values.items():
        object.__setattr__(result, name, value)  # all records are frozen
    return result


def decoded(content: bytes) -> VesselScan:
    """The reverse of encoded."""
    days = pq.read_table(io.BytesIO(content))
    record = json.loads(days.schema.metadata[_RECORD])
    return VesselScan(**_fields(record, record), daily=days.to_pandas())


def _fields(record: dict[str, Any], names: Iterable[str]) -> dict[str, Any]:
    """Those of these names, as VesselScan has them."""
    hints = _hints(VesselScan)
    return {name: _reader(hints[name])(record[name]) for name in names}


def _plain(value: Any) -> Any:
    """What JSON has no form for."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: getattr(value, field.name) for field in dataclasses.fields(value)}
    return value.isoformat() if isinstance(value, pd.Timestamp) else value.item()


_hints = functools.cache(typing.get_type_hints)


@functools.cache
def _reader(hint: Any) -> Callable[[Any], Any]:
    """What makes of a value of JSON what the record's annotation says."""
    kind, inner = typing.get_origin(hint), typing.get_args(hint)
    if kind in (types.UnionType, typing.Union):
        there = _reader(next(one for one in inner if one is not types.NoneType))
        return lambda value: None if value is None else there(value)
    if dataclasses.is_dataclass(hint):
        make: Any = hint
        parts = {name: _reader(part) for name, part in _hints(make).items()}
        return lambda value: make(**{name: parts[name](part) for name, part in value.items()})
    if kind is tuple and inner[-1] is ...:
        each = _reader(inner[0])
        return lambda value: tuple(map(each, value))
    if kind is tuple:
        readers = tuple(map(_reader, inner))
        return lambda value: tuple(read(part) for read, part in zip(readers, value, strict=True))
    if kind is dict:
        name, part = map(_reader, inner)
        return lambda value: {name(one): part(other) for one, other in value.items()}
    return _PLAIN.get(hint, lambda value: value)


_PLAIN: dict[Any, Callable[[Any], Any]] = {
    # most vessels' readings begin and end together
    pd.Timestamp: functools.lru_cache(maxsize=1000)(pd.Timestamp),
    pd.DataFrame: lambda value: pd.DataFrame(value["columns"], index=value["index"]),
    str: sys.intern,  # names of roles, causes and units stand in every vessel's result: held once, not once a vessel
}
