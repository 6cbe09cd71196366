"""Parquet exports: their form from the schema and the first rows, and the engine's way to read them."""

import functools
from collections.abc import Callable, Sequence
from typing import Any

from sevenppb.detect.errors import ExportFault
from sevenppb.detect.exports import form, timestamps, values
from sevenppb.detect.exports.engine import Engine, literal, quoted
from sevenppb.detect.exports.files import ExportFile
from sevenppb.detect.exports.form import Column, Form, Layout, LongColumns, TagColumn
from sevenppb.detect.exports.timestamps import TimeForm

_SAMPLE = 400  # rows that decide what the schema leaves open

Cells = Callable[[str], list[Any]]  # of a column in these rows, without NULL


def relation(file: ExportFile) -> str:
    """The engine's FROM clause; parts of a partitioned folder's path (tag=PT-101) become columns."""
    return f"read_parquet({literal(str(file.path))}, hive_partitioning = true)"


def rows(engine: Engine, file: ExportFile) -> int:
    """How many there are. Raises ExportFault where there are none."""
    ((count,),) = _rows(engine, file, f"SELECT count(*) FROM {relation(file)}")
    if not count:
        raise ExportFault(
            f"{file.shown}: has columns but no rows. Export it again with a time span that has readings."
        )
    return int(count)


def sniff(engine: Engine, file: ExportFile, wanted: Sequence[str], layout: Layout) -> Form:
    """The form of a Parquet export. Raises ExportFault where no form fits."""
    types = {name: kind for name, kind, *_ in _rows(engine, file, f"DESCRIBE SELECT * FROM {relation(file)}")}

    @functools.cache  # read where they are asked for: a column's first rows cost as much as its first pages
    def cells(name: str) -> list[Any]:
        first = _rows(engine, file, f"SELECT {quoted(name)} FROM {relation(file)} LIMIT {_SAMPLE}")
        return [cell for (cell,) in first if cell is not None]

    columns = {n: Column(form.named_unit(n)[0], quoted(n), _is_text(types[n])) for n in types}
    time, times = _time(file, types, cells, columns)
    rest = [n for n in types if n != time]
    long = None if layout == "wide" else _long_columns(rest, types, cells, columns, wanted, layout)
    texts = [
        c for n in rest if columns[n].text and (long is None or columns[n] == long.value) for c in cells(n)
    ]
    numbers = values.number_form(texts, "")
    wide = () if long else _wide_columns(file, rest, cells, columns)
    told = (
        "Parquet",
        "a row a reading" if long else "a column a tag",
        *form.told_quality(wide, long),
    )
    return Form("long" if long else "wide", quoted(time), times, numbers, wide, long, told)


def _rows(engine: Engine, file: ExportFile, sql: str) -> list[tuple[Any, ...]]:
    import duckdb

    try:
        return engine.rows(sql)
    except duckdb.Error as error:
        raise unreadable(file, error) from None


def unreadable(file: ExportFile, error: Exception) -> ExportFault:
    """What to say of a Parquet file that the engine can't read."""
    reason = str(error).splitlines()[0].replace(str(file.path), "").strip(" '\"")
    where = _broken_group(file)
    return ExportFault(f"{file.shown}{where}: can't be read as Parquet ({reason}). Copy or export it again.")


def _broken_group(file: ExportFile) -> str:
    """The first row group that can't be read, counted from 1, in words; nothing where it is not one of them."""
    import pyarrow as pa
    from pyarrow import parquet

    try:
        with parquet.ParquetFile(file.path) as whole:
            for i in range(whole.num_row_groups):
                try:
                    whole.read_row_group(i)
                except (OSError, pa.ArrowException):
                    return f", row group {i + 1} of {whole.num_row_groups}"
    except (OSError, pa.ArrowException):  # its footer can't be read
        pass
    return ""


def _is_text(kind: str) -> bool:
    return kind.startswith(("VARCHAR", "ENUM", "BLOB"))


def _is_number(kind: str) -> bool:
    return kind.startswith(
        ("DOUBLE", "FLOAT", "DECIMAL", "TINYINT", "SMALLINT", "INTEGER", "BIGINT", "HUGEINT", "U")
    )


def _time(
    file: ExportFile, types: dict[str, str], cells: Cells, columns: dict[str, Column]
) -> tuple[str, tuple[TimeForm, ...]]:
    """The column of time: one of a time's type, else text or numbers that can be read as times."""
    there = _there(file)
    dated = [n for n, kind in types.items() if kind.startswith(("TIMESTAMP", "DATE"))]
    typed = [n for n in dated if n in there or cells(n)]
    typed.sort(key=lambda n: not form.is_time_name(n))
    if typed:
        zoned = "TZ" in types[typed[0]] or "TIME ZONE" in types[typed[0]]
        words = "a timestamp with zone" if zoned else "a timestamp without zone"
        return typed[0], (
            TimeForm(words, f"epoch_us({{x}}::{'TIMESTAMPTZ' if zoned else 'TIMESTAMP'})", zoned),
        )
    for name in sorted(types, key=lambda n: not form.is_time_name(n)):
        texts = [str(c) for c in cells(name)]
        is_candidate = columns[name].text or (_is_number(types[name]) and form.is_time_name(name))
        if is_candidate and texts and (times := timestamps.recognise(texts)):
            return name, tuple(times)
    raise ExportFault(
        f"{file.shown}: no column can be read as time (columns: {', '.join(list(types)[:6])}). "
        "Export one as a timestamp, or name it timestamp."
    )


def _there(file: ExportFile) -> set[str]:
    """Columns that begin without NULL as the file's own statistics tell, which costs less than to read a row."""
    import pyarrow as pa
    from pyarrow import parquet

    try:
        group = parquet.read_metadata(file.path).row_group(0)
    except (OSError, pa.ArrowException):  # the engine says what is wrong with it, if anything
        return set()
    told = [(c.path_in_schema, c.statistics) for c in map(group.column, range(group.num_columns))]
    return {name for name, of in told if group.num_rows and of and of.has_null_count and of.null_count == 0}


def _long_columns(
    rest: list[str], types: dict[str, str], cells: Cells, columns: dict[str, Column],
    wanted: Sequence[str], layout: Layout,
) -> LongColumns | None:  # fmt: skip
    known = {form.same(t) for t in wanted}
    if layout == "auto" and any(form.same(columns[n].name) in known for n in rest):
        return None
    tags = [n for n in rest if columns[n].text and any(form.same(str(c)) in known for c in cells(n))]
    tags += [n for n in rest if columns[n].text and form.is_tag_name(n)]
    if layout == "long" or len(rest) <= 8:
        tags += [n for n in rest if columns[n].text and cells(n) and not any(_reads(c) for c in cells(n))]
    for tag in tags[:1]:
        numeric = [
            n for n in rest if n != tag and not form.is_quality_name(n) and _can_be_value(n, types, cells)
        ]
        numeric.sort(key=lambda n: (not form.is_value_name(n), columns[n].text))
        if not numeric:
            return None
        others = [n for n in rest if n not in (tag, numeric[0])]
        unit = next((n for n in others if form.is_unit_name(n) and columns[n].text), None)
        quality = next((n for n in others if form.is_quality_name(n)), None)
        good = values.quality(quoted(quality), quality, map(str, cells(quality))) if quality else None
        return LongColumns(columns[tag], columns[numeric[0]], columns[unit] if unit else None, good)
    return None


def _can_be_value(name: str, types: dict[str, str], cells: Cells) -> bool:
    return _is_number(types[name]) or (_is_text(types[name]) and any(_reads(c) for c in cells(name)))


def _reads(cell: Any) -> bool:
    from sevenppb.detect.exports.header import is_number

    return is_number(str(cell))


def _wide_columns(
    file: ExportFile, rest: list[str], cells: Cells, columns: dict[str, Column]
) -> tuple[TagColumn, ...]:
    from pyarrow import parquet

    schema = parquet.read_schema(file.path)
    said = {f.name: (f.metadata or {}).get(b"unit", b"").decode("utf-8", "replace") for f in schema}
    names = [columns[n].name for n in rest]
    by_name = {form.same(n): n for n in names}
    good: dict[str, values.Good] = {}
    quality: set[str] = set()
    for i, name in enumerate(rest):
        before = names[i - 1] if i and rest[i - 1] not in quality else None
        tag = form.quality_of(name, by_name, before)
        if tag:
            quality.add(name)
            good[tag] = values.quality(quoted(name), name, map(str, cells(name)))
    return tuple(
        TagColumn(
            columns[n].name,
            columns[n],
            form.named_unit(n)[1] or said.get(n) or None,
            None,
            good.get(columns[n].name),
        )
        for n in rest
        if n not in quality
    )
