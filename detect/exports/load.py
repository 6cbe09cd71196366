"""Opened exports → raw readings as arrays: a text export is parsed once into the engine's own table, a
Parquet file is read where it lies."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import duckdb

from sevenppb.detect.errors import ExportFault
from sevenppb.detect.exports import columnar, delimited, form, head, unpacked, values
from sevenppb.detect.exports.engine import Engine, literal
from sevenppb.detect.exports.files import ExportFile
from sevenppb.detect.exports.form import Column, Form, Layout, TagColumn
from sevenppb.detect.exports.head import Head
from sevenppb.detect.exports.header import Table
from sevenppb.detect.exports.timestamps import TimeForm
from sevenppb.detect.exports.values import Good

# Where a vessel's text exports are larger than this together, they are parsed to files of the engine's own, with
# wanted tags only; else into its memory, unwanted tags too: filtering loses the rows' order, and sorting them again
# would cost more.
STREAMED_BYTES = 400_000_000
_UNPACKED = 8  # times as large as packed
FILTERED_ROWS = 10_000_000
_ROW_GROUP = 100_000  # rows: the least that the engine can pass over by their times
FILE_ROW = "file_row_number"  # what the engine calls it in a Parquet file
_TABLE_ROW = (
    "rowid"  # and in a table, from 0: numbering rows by a window function takes one thread instead of all
)


@dataclass(frozen=True)
class Value:
    """The engine's expressions for a tag's value as a number, and for its kind (values.KINDS); None for the
    kind where all there is are numbers and NULL."""

    number: str
    kind: str | None


@dataclass(frozen=True)
class Reading:
    """How a text export was read: the beginning of the file, its form and its table."""

    start: Head
    found: Form
    table: Table


@dataclass(frozen=True)
class Part:
    """One file of several that are read as one: its rows begin at row number `start`."""

    file: ExportFile
    start: int
    rows: int


@dataclass(frozen=True)
class Source:
    """An export ready to be queried. `relation` is the engine's table or FROM clause, and `row` its column of
    row numbers: the engine keeps no order where it filters. `times` has an expression for each time form that
    is still possible; `values` are those of the wanted tags by position (None: not in this export; in a long
    export all alike, and `code` is the expression for a row's position + 1). `raw` is the FROM clause of the
    file itself; `why` says why its dates are read so, where another export or the fleet file tells; `parts` are its
    files, in the order of their rows, where it is several that are read as one (`file` is then the first)."""

    file: ExportFile
    form: Form
    relation: str
    raw: str
    row: str
    times: tuple[tuple[TimeForm, str], ...]
    code: str | None
    values: tuple[Value | None, ...]
    rows: int
    notes: tuple[str, ...] = ()
    why: str = ""
    parts: tuple[Part, ...] = ()

    @property
    def shown(self) -> str:
        """How sentences name it."""
        return self.file.shown + (f" to {self.parts[-1].file.shown}" if self.parts else "")

    @property
    def files(self) -> tuple[tuple[ExportFile, int], ...]:
        """Its files, each with its rows."""
        return tuple((part.file, part.rows) for part in self.parts) or ((self.file, self.rows),)

    @property
    def told(self) -> tuple[str, ...]:
        """In words how it is read."""
        return (*self.form.told, "time: " + " or ".join(form.words for form, _ in self.times) + self.why)


def unpacked_bytes(file: ExportFile) -> int:
    """About how large a text export is once it is unpacked."""
    return file.path.stat().st_size * (1 if file.compression == "none" else _UNPACKED)


def opened(
    engine: Engine, file: ExportFile, wanted: Sequence[str], layout: Layout, streamed: bool
) -> tuple[Source, Reading | None]:
    """The export, sniffed, and read where it is text: to a file of the engine's own if it is to be `streamed`. With
    it, how a text export was read without any difficulty; None else. Raises ExportFault."""
    unpacked.bounded(file)
    if file.kind == "parquet":
        rows = columnar.rows(engine, file)
        found = columnar.sniff(engine, file, wanted, layout)
        return as_it_lies(file, found, columnar.relation(file), wanted, rows), None
    start = head.read(file)
    found, table = delimited.sniff(file.shown, start, wanted, layout)
    path = file.path if start.plain else head.as_utf8(file, start.encoding, engine.folder)
    quotes, easy = True, True
    while True:  # a file that is not what its head promises is read again, once for each way to mend it
        try:
            lying = as_it_lies(file, found, delimited.relation([path], file, table, quotes), wanted)
            source = parsed(engine, lying, streamed)
        except duckdb.Error as error:
            if path != file.path or "state" not in str(error):
                raise _unparsed(file, error) from None
            path = head.as_utf8(file, start.encoding, engine.folder)  # line ends of two kinds: made one
            easy = False
            continue
        rejects = _rejects(engine)
        if "INVALID ENCODING" in rejects.kinds and path == file.path:
            path, easy = head.as_utf8(file, "cp1252", engine.folder), False
        elif "UNQUOTED VALUE" in rejects.kinds and quotes and not table.quotes:
            quotes, easy = False, False  # a quote that is never closed would swallow the lines after it
        else:
            if table.lines != source.rows + rejects.lines:
                delimited.confirm(engine, file, source.raw, table)
            easy = easy and not rejects.lines
            source = replace(source, notes=_told(file, rejects, source.rows))
            return source, Reading(start, found, table) if easy else None


def _unparsed(file: ExportFile, error: Exception) -> ExportFault:
    if file.compression != "none":
        return head.unpacking(file, error)
    reason = str(error).splitlines()[0].replace(str(file.path), "").strip(" '\"")
    return ExportFault(f"{file.shown}: can't be read as a table ({reason}). Export it again as plain CSV.")


def parsed(engine: Engine, lying: Source, streamed: bool, more: Sequence[str] = ()) -> Source:
    """A text export parsed into a table of its own, or a file where it is to be `streamed`: times t0.., tag's code,
    values v0.., kinds k0.., and `more` columns."""
    held = [(i, v) for i, v in enumerate(lying.values) if v and (lying.code is None or i == 0)]
    picked = [f"{expression} AS t{i}" for i, (_, expression) in enumerate(lying.times)]
    picked += [f"{lying.code} AS code"] if lying.code else []
    picked += [f"{value.number} AS v{i}, {value.kind} AS k{i}" for i, value in held]
    inner = f"SELECT {', '.join([*picked, *more])} FROM {lying.relation}"
    if streamed:
        name = _streamed(engine, f"SELECT * FROM ({inner}){' WHERE code IS NOT NULL' if lying.code else ''}")
    else:
        name = engine.table()
        engine.run(f"CREATE TEMP TABLE {name} AS {inner}")
    worst = ", ".join(["count(*)", *(f"max(k{i})" for i, _ in held)])
    rows, *kinds = engine.row(f"SELECT {worst} FROM {name}")
    own: list[Value | None] = [None] * len(lying.values)
    for (i, _), kind in zip(held, kinds, strict=True):
        own[i] = Value(f"v{i}", f"k{i}" if kind else None)
    return replace(
        lying,
        relation=name,
        row=FILE_ROW if streamed else _TABLE_ROW,
        times=tuple((t, f"t{i}") for i, (t, _) in enumerate(lying.times)),
        code="code" if lying.code else None,
        values=tuple(own[:1] * len(own) if lying.code else own),
        rows=rows,
    )


def _streamed(engine: Engine, sql: str) -> str:
    """The query's rows in a file in their order, as a FROM clause."""
    path = literal(str(engine.folder / f"{engine.table()}.parquet"))
    engine.be_frugal()
    engine.run(f"COPY ({sql}) TO {path} (FORMAT parquet, COMPRESSION snappy, ROW_GROUP_SIZE {_ROW_GROUP})")
    return f"read_parquet({path})"


def as_it_lies(file: ExportFile, found: Form, relation: str, wanted: Sequence[str], rows: int = 0) -> Source:
    """The export as it lies in its file."""
    times = tuple((t, t.sql.format(x=found.time)) for t in found.times)
    if found.long is None:
        chosen = [match(found.wide, tag) for tag in wanted]
        listed = tuple(_value(found, c.column, c.good) if c else None for c in chosen)
        return Source(file, found, relation, relation, FILE_ROW, times, None, listed, rows)
    tags = ", ".join(literal(tag) for tag in wanted)
    code = f"list_position([{tags}], {found.long.tag.sql}::VARCHAR)::UTINYINT"
    value = _value(found, found.long.value, found.long.good)
    return Source(file, found, relation, relation, FILE_ROW, times, code, (value,) * len(wanted), rows)


def _value(found: Form, column: Column, good: Good | None) -> Value:
    if column.text:
        text = f"{column.sql}::VARCHAR"
        number = values.number_sql(text, found.numbers)
        return Value(number, values.kind_sql(number, text, good.sql if good else None))
    number = f"CAST({column.sql} AS DOUBLE)"
    return Value(number, values.kind_sql(number, None, good.sql) if good and good.sql else None)


def match(columns: Sequence[TagColumn], tag: str) -> TagColumn | None:
    """The column of a tag: by its name as it is written, else but for case and blanks if that leaves one."""
    exact = [c for c in columns if c.tag == tag]
    alike = exact or [c for c in columns if form.same(c.tag) == form.same(tag)]
    return alike[0] if len(alike) == 1 else None


def texts(engine: Engine, source: Source, position: int, tag: str, kinds: Sequence[int]) -> list[str]:
    """Some of a tag's texts of kinds that are no number (values.KINDS)."""
    column, only = None, ""
    if source.form.long:
        column, only = source.form.long.value, f"AND {source.form.long.tag.sql}::VARCHAR = {literal(tag)}"
    elif found := match(source.form.wide, tag):
        column = found.column
    if column is None or not column.text or source.values[position] is None:
        return []
    kind = (_value(source.form, column, None)).kind
    asked = ", ".join(map(str, kinds))
    sql = f"SELECT DISTINCT {column.sql} FROM {source.raw} WHERE {kind} IN ({asked}) {only} LIMIT 3"
    return [row[0] for row in engine.rows(sql)]


@dataclass(frozen=True)
class Rejects:
    """Lines that the engine could not fit into the table: how many, the first and why, all kinds of reasons, and
    whether one swallowed others."""

    lines: int
    first: int
    reason: str
    kinds: tuple[str, ...]
    swallowed: bool


def _rejects(engine: Engine) -> Rejects:
    """What the engine rejected since it was last asked."""
    columns = (
        "count(DISTINCT line), min(line), arg_min(error_type, line)::VARCHAR",
        "list(DISTINCT error_type::VARCHAR), max(position(chr(10) IN csv_line))",
    )
    lines, first, reason, kinds, swallowed = engine.row(f"SELECT {', '.join(columns)} FROM reject_errors")
    if lines:
        forget_rejects(engine)
    return Rejects(lines, first or 0, reason or "", tuple(kinds or ()), bool(swallowed))


def rejected_files(engine: Engine) -> set[str]:
    """The paths of the files of which the engine rejected lines since it was last asked."""
    sql = "SELECT DISTINCT file_path FROM reject_errors JOIN reject_scans USING (scan_id, file_id)"
    found = {row[0] for row in engine.rows(sql)}
    if found:
        forget_rejects(engine)
    return found


def forget_rejects(engine: Engine) -> None:
    """Clears what the engine rejected so far."""
    engine.run("DROP TABLE IF EXISTS reject_errors; DROP TABLE IF EXISTS reject_scans")


def _told(file: ExportFile, rejects: Rejects, rows: int) -> tuple[str, ...]:
    """A sentence on the rejected lines; more than a tenth of all makes the export a fault."""
    if not rejects.lines:
        return ()
    here = f"{file.shown}:{rejects.first}"
    if rejects.swallowed:
        raise ExportFault(f"{here}: a quote is opened here and not closed. Close it or export again.")
    what = f"{rejects.lines} lines don't fit the table and were left out (the first is line {rejects.first}: "
    what += f"{rejects.reason.lower()})"
    if rejects.lines > max(rows, 1) // 9:
        raise ExportFault(f"{here}: {what}: too many to go on. Export the file again.")
    return (f"{file.shown}: {what}.",)
