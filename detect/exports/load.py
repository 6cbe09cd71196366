"""Opened exports → raw readings as arrays: a text export is parsed once into the engine's own table, a Parquet
file is read where it lies."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import duckdb
import numpy as np
import numpy.typing as npt

from sevenppb.detect.errors import ExportFault
from sevenppb.detect.exports import columnar, delimited, form, head, values
from sevenppb.detect.exports.engine import Engine, literal
from sevenppb.detect.exports.files import ExportFile
from sevenppb.detect.exports.form import Form, Layout, TagColumn
from sevenppb.detect.exports.timestamps import TimeForm, Times

Floats = npt.NDArray[np.float64]
Kinds = npt.NDArray[np.uint8]


@dataclass(frozen=True)
class Source:
    """An export ready to be queried. `relation` is the engine's table or FROM clause, `times` has an expression for
    each time form that is still possible, `tags` the wanted tags by position (None: not in this export), with
    their value's and kind's expressions; a long export has one of each and `code`, the tag's position.
    `raw` is the FROM clause of the file itself, for a look at the texts."""

    file: ExportFile
    form: Form
    relation: str
    raw: str
    times: tuple[tuple[TimeForm, str], ...]
    code: str | None
    values: tuple[tuple[str, str | None] | None, ...]
    units: tuple[str | None, ...]
    rows: int
    notes: tuple[str, ...]


@dataclass(frozen=True)
class Raw:
    """One tag's readings of one export, in the file's order: `time` [us, of UTC or the wall clock], `value`, and
    `kind` (values.KINDS), None where all that is no number is NaN. `untimed` counts readings without a time."""

    time: Times
    value: Floats
    kind: Kinds | None
    untimed: int


def opened(engine: Engine, file: ExportFile, wanted: Sequence[str], layout: Layout) -> Source:
    """The export, sniffed, and read where it is text. Raises ExportFault."""
    if file.kind == "parquet":
        found = columnar.sniff(engine, file, wanted, layout)
        relation = columnar.relation(file)
        try:
            return _source(engine, file, found, relation, relation, wanted, ())
        except duckdb.Error as error:
            raise columnar.unreadable(file, error) from None
    start = head.read(file)
    encoding = start.encoding
    found, table = delimited.sniff(file.shown, start, wanted, layout)
    path = file.path if start.plain else head.as_utf8(file, encoding, engine.folder)
    try:
        relation = delimited.relation(path, file, table)
        source = _parsed(engine, file, found, relation, wanted)
        if path == file.path and _strange_bytes(engine):
            path = head.as_utf8(file, "cp1252", engine.folder)
            source = _parsed(engine, file, found, delimited.relation(path, file, table), wanted)
    except duckdb.InvalidInputException as error:
        if path != file.path or "state" not in str(error):
            raise _unparsed(file, error) from None
        relation = delimited.relation(head.as_utf8(file, encoding, engine.folder), file, table)
        source = _parsed(engine, file, found, relation, wanted)  # line ends of two kinds: made one
    except duckdb.Error as error:
        raise _unparsed(file, error) from None
    return replace(source, notes=_rejected(engine, file, source.rows))


def _unparsed(file: ExportFile, error: Exception) -> ExportFault:
    if file.compression != "none":
        return head.unpacking(file, error)
    reason = str(error).splitlines()[0].replace(str(file.path), "").strip(" '\"")
    return ExportFault(f"{file.shown}: can't be read as a table ({reason}). Export it again as plain CSV.")


def _parsed(engine: Engine, file: ExportFile, found: Form, relation: str, wanted: Sequence[str]) -> Source:
    """The text export parsed into a table of its own: times, values and kinds."""
    engine.db.execute("DROP TABLE IF EXISTS reject_errors; DROP TABLE IF EXISTS reject_scans")
    source = _source(engine, file, found, relation, relation, wanted, (), count=False)
    picked = [f"{expression} AS t{i}" for i, (_, expression) in enumerate(source.times)]
    if source.code:
        picked.append(f"{source.code} AS code")
    columns: list[tuple[str, str | None] | None] = []
    for i, pair in enumerate(source.values):
        columns.append((f"v{i}", f"k{i}") if pair else None)
        if pair and (found.layout == "wide" or i == 0):
            picked += [f"{pair[0]} AS v{i}", f"{pair[1]} AS k{i}"]
    name = engine.table()
    only = " WHERE code IS NOT NULL" if source.code else ""
    engine.db.execute(
        f"CREATE TEMP TABLE {name} AS SELECT * FROM (SELECT {', '.join(picked)} FROM {relation}){only}"
    )
    (rows,) = engine.db.execute(f"SELECT count(*) FROM {name}").fetchone() or (0,)
    if found.layout == "long":
        columns = [("v0", "k0") for _ in wanted]
    return replace(
        source,
        relation=name,
        times=tuple((t, f"t{i}") for i, (t, _) in enumerate(source.times)),
        code="code" if source.code else None,
        values=tuple(columns),
        rows=rows,
    )


def _source(
    engine: Engine, file: ExportFile, found: Form, relation: str, raw: str, wanted: Sequence[str],
    notes: tuple[str, ...], count: bool = True,
) -> Source:  # fmt: skip
    times = tuple((t, t.sql.format(x=found.time)) for t in found.times)
    code: str | None = None
    pairs: tuple[tuple[str, str | None] | None, ...]
    said: tuple[str | None, ...] = (None,) * len(wanted)
    if found.long:
        number, kind = _expressions(found, found.long.value.sql, found.long.value.text, found.long.good)
        pairs = ((number, kind),) * len(wanted)
        listed = ", ".join(literal(tag) for tag in wanted)
        code = f"list_position([{listed}], {found.long.tag.sql}::VARCHAR)::UTINYINT"
    else:
        chosen = [match(found.wide, tag) for tag in wanted]
        pairs = tuple(_expressions(found, c.column.sql, c.column.text, c.good) if c else None for c in chosen)
        said = tuple(c.unit if c else None for c in chosen)
    rows = (engine.db.execute(f"SELECT count(*) FROM {relation}").fetchone() or (0,))[0] if count else 0
    return Source(file, found, relation, raw, times, code, pairs, said, rows, notes)


def _expressions(found: Form, column: str, text: bool, good: str | None) -> tuple[str, str | None]:
    if text:
        number = values.number_sql(column, found.numbers)
        return number, values.kind_sql(column, number, good)
    number = f"CAST({column} AS DOUBLE)"
    return number, values.plain_kind_sql(number, good)


def match(columns: Sequence[TagColumn], tag: str) -> TagColumn | None:
    """The column of a tag: by its name as it is written, else but for case and blanks if that leaves one."""
    exact = [c for c in columns if c.tag == tag]
    alike = exact or [c for c in columns if form.same(c.tag) == form.same(tag)]
    return alike[0] if len(alike) == 1 else None


def fetched(engine: Engine, source: Source, positions: Sequence[int], time: str) -> dict[int, Raw]:
    """The raw readings of some of the wanted tags, by position; tags that the export doesn't hold are left out."""
    here = [i for i in positions if source.values[i] is not None]
    if not here:
        return {}
    try:
        return _long(engine, source, here, time) if source.code else _wide(engine, source, here, time)
    except duckdb.Error as error:
        raise columnar.unreadable(source.file, error) from None


def _wide(engine: Engine, source: Source, here: list[int], time: str) -> dict[int, Raw]:
    picked = [f"{time} AS t"]
    for i in here:
        number, kind = source.values[i] or ("", None)
        picked += [f"{number} AS v{i}"] + ([f"{kind} AS k{i}"] if kind else [])
    columns = engine.db.execute(f"SELECT {', '.join(picked)} FROM {source.relation}").fetchnumpy()
    times, timed = _times(columns["t"])
    untimed = 0 if timed is None else int(len(timed) - timed.sum())
    raw = {}
    for i in here:
        value, kind = _values(columns.pop(f"v{i}"), columns.pop(f"k{i}", None))
        if timed is not None:
            value, kind = value[timed], kind[timed] if kind is not None else None
        raw[i] = Raw(times, value, kind, untimed)
    return raw


def _long(engine: Engine, source: Source, here: list[int], time: str) -> dict[int, Raw]:
    number, kind = source.values[here[0]] or ("", None)
    picked = [f"{time} AS t", f"{source.code} AS code", f"{number} AS v"] + ([f"{kind} AS k"] if kind else [])
    codes = ", ".join(str(i + 1) for i in here)
    sql = f"SELECT * FROM (SELECT {', '.join(picked)} FROM {source.relation}) WHERE code IN ({codes})"
    columns = engine.db.execute(sql).fetchnumpy()
    code = np.asarray(columns["code"], dtype=np.uint8)
    order = np.argsort(code, kind="stable")
    counts = np.bincount(code, minlength=max(here) + 2)
    ends = np.cumsum(counts)
    raw = {}
    value, kinds = _values(columns["v"], columns.get("k"))
    for i in here:
        rows = order[ends[i + 1] - counts[i + 1] : ends[i + 1]]
        if len(rows) == 0:
            continue
        times, timed = _times(columns["t"][rows])
        picked_value, picked_kind = value[rows], kinds[rows] if kinds is not None else None
        if timed is not None:
            picked_value, picked_kind = (
                picked_value[timed],
                picked_kind[timed] if picked_kind is not None else None,
            )
        raw[i] = Raw(times, picked_value, picked_kind, len(rows) - len(times))
    return raw


def _times(column: npt.NDArray[np.int64]) -> tuple[Times, npt.NDArray[np.bool_] | None]:
    """The times that are there, and which rows have one (None: all)."""
    if isinstance(column, np.ma.MaskedArray):
        timed = ~np.ma.getmaskarray(column)
        return np.asarray(column.data[timed], dtype=np.int64), None if timed.all() else timed
    return np.asarray(column, dtype=np.int64), None


def _values(column: Floats, kind: Kinds | None) -> tuple[Floats, Kinds | None]:
    """Values with NaN for what is missing, and their kinds where a value is anything but a number or empty."""
    empty = np.ma.getmaskarray(column) if isinstance(column, np.ma.MaskedArray) else None
    value = np.asarray(
        column.filled(np.nan) if isinstance(column, np.ma.MaskedArray) else column, dtype=np.float64
    )
    if kind is not None:
        kinds = np.asarray(kind, dtype=np.uint8)
        if kinds.any():
            return np.where(kinds == values.NUMBER, value, np.nan), kinds
        return value, None
    if empty is not None and empty.any():
        return value, np.where(empty, values.EMPTY, values.NUMBER).astype(np.uint8)
    return value, None


def _strange_bytes(engine: Engine) -> bool:
    sql = "SELECT count(*) FROM reject_errors WHERE error_type = 'INVALID ENCODING'"
    return bool((engine.db.execute(sql).fetchone() or (0,))[0])


def _rejected(engine: Engine, file: ExportFile, rows: int) -> tuple[str, ...]:
    """A sentence on the lines that don't fit the table; more than a tenth of them makes the export a fault."""
    sql = "SELECT count(DISTINCT line), min(line), arg_min(error_type, line) FROM reject_errors"
    lines, first, reason = engine.db.execute(sql).fetchone() or (0, 0, "")
    if not lines:
        return ()
    what = f"{lines} lines don't fit the table and were left out (the first is line {first}: {str(reason).lower()})"
    if lines > max(rows, 1) // 9:
        raise ExportFault(f"{file.shown}:{first}: {what}: too many to go on. Export the file again.")
    return (f"{file.shown}: {what}.",)
