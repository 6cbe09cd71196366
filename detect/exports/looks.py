"""What exports show of their tags before anybody says what these are: units, descriptions, levels and moves."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import duckdb
import pandas as pd

from sevenppb.detect.errors import ExportFault
from sevenppb.detect.exports import alike, sources
from sevenppb.detect.exports.engine import Engine
from sevenppb.detect.exports.guess import Seen
from sevenppb.detect.exports.load import Source
from sevenppb.detect.exports.local_time import HOUR_US
from sevenppb.detect.exports.timestamps import Order

_BATCH = 200  # tags looked at in one query
_HOURS = 1000  # that tell how tags move together, spread over the export


@dataclass(frozen=True)
class Looked:
    """What was seen of some exports of one shape: their tags, how they are named, whether their times carry a zone,
    and the orders of day and month that their dates can have."""

    tags: list[Seen]
    homes: tuple[str, ...]
    zoned: bool
    orders: tuple[Order | None, ...]


def look(running: Engine, source: Source) -> Looked:
    """The tags of an export, or of several of one shape, with what it says of them. Raises ExportFault."""
    names = sources.tag_names(running, source)
    if not names:
        raise ExportFault(f"{source.shown}: holds no tags. Export it again.")
    described = {c.tag: (c.unit, c.description) for c in source.form.wide}
    tags: list[Seen] = []
    for start in range(0, len(names), _BATCH):
        batch = names[start : start + _BATCH]
        again = alike.opened(running, [file for file, _ in source.files], batch, source.form.layout)
        levels = [_quantiles(running, again, i) for i in range(len(batch))]
        hourly = _hourly(running, again, [i for i, level in enumerate(levels) if math.isfinite(level[1])])
        for i, (name, level) in enumerate(zip(batch, levels, strict=True)):
            unit, description = (
                sources.unit_of(running, source, i, name),
                described.get(name, (None, None))[1],
            )
            seen = Seen(name, unit, description, *level)
            tags.append(replace(seen, hourly=hourly[i]) if i in hourly else seen)
    times = [form for form, _ in source.times]
    homes = tuple(file.shown for file, _ in source.files)
    return Looked(tags, homes, all(form.zoned for form in times), tuple(form.order for form in times))


def _quantiles(running: Engine, opened: Sequence[Source], position: int) -> tuple[float, float, float]:
    values = [
        f"SELECT {value.number} AS v FROM {source.relation}"
        + (f" WHERE {source.code} = {position + 1}" if source.code else "")
        for source in opened
        if (value := source.values[position]) is not None
    ]
    if not values:
        return math.nan, math.nan, math.nan
    sql = f"SELECT quantile_cont(v, [0.05, 0.5, 0.95]) FROM ({' UNION ALL '.join(values)})"
    try:
        (row,) = running.row(f"{sql} WHERE isfinite(v)")
    except duckdb.Error:  # a column that holds no values of a tag (text, lists)
        row = None
    return tuple(row) if row else (math.nan, math.nan, math.nan)


def _hourly(
    running: Engine, opened: Sequence[Source], positions: Sequence[int]
) -> dict[int, "pd.Series[float]"]:
    """Means of some hours, by the tags' positions; the index counts hours of the export's own clock."""
    found: dict[int, list[pd.Series[float]]] = {}
    for source in opened:
        time = f"({source.times[0][1]} // {HOUR_US})"
        low, high = running.row(f"SELECT min({time}), max({time}) FROM {source.relation}")
        if low is None:
            continue
        sampled = f"FROM {source.relation} WHERE {time} % {max((high - low) // _HOURS, 1)} = 0"
        here = [(i, value) for i in positions if (value := source.values[i]) is not None]
        for i, value in here[:1] if source.code else here:
            mean = f"avg({value.number}) FILTER (WHERE isfinite({value.number}))"
            code = source.code or str(i + 1)
            sql = f"SELECT {code} AS code, {time} AS h, {mean} AS v {sampled} AND {code} IS NOT NULL GROUP BY ALL"
            for number, part in running.db.sql(sql).df().dropna().groupby("code"):
                found.setdefault(int(number) - 1, []).append(part.set_index("h")["v"])
    return {i: pd.concat(parts).groupby(level=0).mean() for i, parts in found.items()}
