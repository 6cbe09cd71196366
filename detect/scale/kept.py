"""One vessel's result as one Parquet file: its days as the table, all else as JSON in the file's metadata.

It is what worker processes and machines hand back, and what a second run finds: no code can hide in it.
"""

import contextlib
import copy
import dataclasses
import functools
import io
import json
import sys
import types
import typing
from pathlib import Path
from typing import Any

import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq

from sevenppb.detect.errors import VesselFault
from sevenppb.detect.incidents.incident import VesselScan

_RECORD, _STAMP = b"sevenppb.vessel", b"sevenppb.stamp"
_FRAMES = ("daily", "tally")


class KeptScan(VesselScan):
    """A result whose days stay in their file and are read whenever they are asked for: a fleet's days need
    not fit into memory. A change of its fields goes by `changed`, not by dataclasses.replace."""

    def __getattr__(self, name: str) -> Any:
        """Only asked for what the record does not hold."""
        if name != "daily":
            raise AttributeError(name)
        return _days(self.__dict__["place"], self.__dict__["stamp"])


@functools.lru_cache(maxsize=1)  # reports ask for a vessel's days dozens of times on end
def _days(place: Path, stamp: bytes) -> pd.DataFrame:
    days: pd.DataFrame = _stored(place, stamp).to_pandas()
    return days


def _stored(place: Path, stamp: bytes) -> pa.Table:
    try:
        with pq.ParquetFile(place) as file:
            table = file.read()
    except (OSError, pa.ArrowException):
        table = None
    # another scan into the same folder may have put other days there meanwhile
    if table is None or (table.schema.metadata or {}).get(_STAMP) != stamp:
        raise VesselFault(
            f"{place}: was removed, damaged or written anew while it was in use. Run one scan at a time into a "
            "folder; run this one again."
        )
    return table


def table(result: VesselScan) -> pa.Table:
    """A result's days as columns, with the day itself as the column that `day` names; those that stay in their file
    straight from there."""
    if isinstance(result, KeptScan):
        return _stored(result.__dict__["place"], result.__dict__["stamp"])
    return pa.Table.from_pandas(result.daily)


def columns(result: VesselScan) -> pa.Schema:
    """What `table` gives, without the days."""
    if isinstance(result, KeptScan):
        with contextlib.suppress(OSError, pa.ArrowException):
            return pq.read_schema(result.__dict__["place"])
    return table(result).schema


def day(columns: pa.Schema) -> str:
    """The name of the column that holds the day."""
    name: str = columns.pandas_metadata["index_columns"][0]
    return name


def changed(result: VesselScan, **fields: Any) -> VesselScan:
    """The result with other values in some fields; days that stay in a file stay there."""
    other = copy.copy(result)
    other.__dict__.update(fields)
    return other


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
        metadata = pq.read_schema(place).metadata or {}
    except (OSError, pa.ArrowException):
        return None
    return metadata[_STAMP].decode() if _STAMP in metadata and _RECORD in metadata else None


def opened(place: Path) -> VesselScan:
    """A kept result, its days left in the file."""
    result: VesselScan = object.__new__(KeptScan)
    metadata = pq.read_schema(place).metadata
    record = json.loads(metadata[_RECORD])
    result.__dict__.update(_fields(record), place=place.absolute(), stamp=metadata[_STAMP])
    return result


def decoded(content: bytes) -> VesselScan:
    """The reverse of encoded."""
    days = pq.read_table(io.BytesIO(content))
    return VesselScan(**_fields(json.loads(days.schema.metadata[_RECORD])), daily=days.to_pandas())


def _fields(record: dict[str, Any]) -> dict[str, Any]:
    tally = record.pop("tally")
    hints = _hints(VesselScan)
    fields = {name: _typed(hints[name], value) for name, value in record.items()}
    return fields | {"tally": pd.DataFrame(tally["columns"], index=tally["index"])}


def _plain(value: Any) -> Any:
    """What JSON has no form for."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: getattr(value, field.name) for field in dataclasses.fields(value)}
    return value.isoformat() if isinstance(value, pd.Timestamp) else value.item()


_hints = functools.cache(typing.get_type_hints)


def _typed(hint: Any, value: Any) -> Any:
    """A value of JSON as what the record's annotation says."""
    kind, inner = typing.get_origin(hint), typing.get_args(hint)
    if kind in (types.UnionType, typing.Union) and value is not None:
        return _typed(next(one for one in inner if one is not types.NoneType), value)
    if hint is pd.Timestamp:
        return pd.Timestamp(value)
    if dataclasses.is_dataclass(hint):
        hints = _hints(typing.cast(type, hint))
        return typing.cast(Any, hint)(**{name: _typed(hints[name], part) for name, part in value.items()})
    if kind is tuple:
        kinds = inner[:1] * len(value) if inner[-1] is ... else inner
        return tuple(_typed(one, part) for one, part in zip(kinds, value, strict=True))
    if kind is dict:
        return {_typed(inner[0], name): _typed(inner[1], part) for name, part in value.items()}
    # names of roles, causes and units stand in every vessel's result: held once, not once a vessel
    return sys.intern(value) if isinstance(value, str) else value
