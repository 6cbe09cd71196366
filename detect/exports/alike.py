"""Text exports of one shape, such as a file a day, are read by the engine in one go: to open each by itself takes
longer than to read it. Whatever is odd about a file makes it be read by itself, as if it were the only one."""

import csv
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import duckdb

from sevenppb.detect.errors import ExportFault
from sevenppb.detect.exports import delimited, head, load, timestamps, unpacked, values
from sevenppb.detect.exports.engine import Engine
from sevenppb.detect.exports.files import ExportFile
from sevenppb.detect.exports.form import Layout
from sevenppb.detect.exports.load import Part, Reading, Source

_SMALL = 16_000_000  # bytes unpacked: a larger file has nothing to gain
_ENOUGH = 1 << 16  # bytes that hold a header and the first reading


@dataclass(frozen=True)
class _Like:
    """A file that begins as the first one does: where it is in UTF-8, and its lines of data."""

    file: ExportFile
    path: Path
    lines: int


def opened(
    engine: Engine, files: Sequence[ExportFile], wanted: Sequence[str], layout: Layout
) -> list[Source]:
    """The exports in their order, neighbours of one shape as one. Raises ExportFault."""
    streamed = sum(load.unpacked_bytes(file) for file in files if file.kind == "text") > load.STREAMED_BYTES
    sources: list[Source] = []
    done, most = 0, len(files)
    while done < len(files):
        source, reading = load.opened(engine, files[done], wanted, layout, streamed)
        if reading is not None and not streamed and _shareable(reading):
            source = _together(engine, source, reading, files[done : done + most], wanted)
        sources.append(source)
        count = len(source.files)
        done, most = (
            done + count,
            2 * count,
        )  # twice as many as went well: odd files cost no more than themselves
    return sources


def _shareable(reading: Reading) -> bool:
    """Whether nothing in the file's form hangs on its own values alone: not which mark parts thousands, which of 0 and
    1 is good, or which unit a row is in."""
    found, table = reading.found, reading.table
    goods = [found.long.good] if found.long else [column.good for column in found.wide]
    return (
        reading.start.encoding in ("utf-8", "utf-8-sig", "cp1252")
        and any(table.names)
        and not found.numbers.thousands
        and not (found.long and found.long.unit)
        and not any(good.hangs for good in goods if good)
        and not table.comment
    )


def _together(
    engine: Engine, alone: Source, reading: Reading, files: Sequence[ExportFile], wanted: Sequence[str]
) -> Source:
    """The first of these files, read already, with as many of the next as can be read like it."""
    like = _alike(engine, reading, files)
    while len(like) > 1:
        relation = delimited.relation([one.path for one in like], alone.file, reading.table, True)
        lying = load.as_it_lies(alone.file, reading.found, relation, wanted)
        try:
            whole = load.parsed(engine, lying, False, ("filename",))
        except duckdb.Error:  # one of them can't be read at all: the engine doesn't say which
            load.forget_rejects(engine)
            like = like[: len(like) // 2]
            continue
        return _proven(engine, alone, whole, reading, like)
    return alone


def _alike(engine: Engine, reading: Reading, files: Sequence[ExportFile]) -> list[_Like]:
    """The files, from the first on, that begin as it does."""
    found: list[_Like] = []
    header: list[bytes] | None = None
    for file in files:
        if (
            file.kind != "text"
            or file.compression != files[0].compression
            or load.unpacked_bytes(file) > _SMALL
        ):
            break
        try:
            unpacked.bounded(file)
            own, first, lines = _beginning(file, reading)
        except (OSError, ExportFault):
            break
        header = own if header is None else header
        if own != header or not _reads_alike(first, reading):
            break
        plain = reading.start.plain
        path = file.path if plain else head.as_utf8(file, reading.start.encoding, engine.folder)
        found.append(_Like(file, path, lines))
    return found


def _beginning(file: ExportFile, reading: Reading) -> tuple[list[bytes], str, int]:
    """The file's header lines (a preamble may say something else in each file), its first line of data, and how many
    lines of data it has."""
    table = reading.table
    with head.opened(file) as stream:
        start = stream.read(_ENOUGH)
        ends, last = start.count(b"\n"), start[-1:]
        while block := stream.read(_SMALL):
            ends, last = ends + block.count(b"\n"), block[-1:]
    lines = [*start.split(b"\n", table.skip + 1), *[b""] * (table.skip + 1)]
    mark = table.delimiter.encode()
    header = [line.strip() for line in lines[: table.skip] if line.count(mark) >= len(table.names) - 2]
    first = lines[table.skip].decode(reading.start.encoding, "replace")
    return header, first, ends - table.skip + (last != b"\n")


def _reads_alike(first: str, reading: Reading) -> bool:
    """Whether a first line of data has the columns and a time of the known form."""
    table = reading.table
    try:
        row = next(csv.reader([first.rstrip("\r")], delimiter=table.delimiter), [])
    except csv.Error:
        return False
    if len(row) != len(table.names):
        return False
    time = " ".join(row[i].strip() for i in table.time)
    forms = timestamps.recognise([time]) or timestamps.recognise([time.replace(",", ".")])
    return bool({form.words for form in forms} & {form.words for form in reading.found.times})


def _proven(engine: Engine, alone: Source, whole: Source, reading: Reading, like: Sequence[_Like]) -> Source:
    """Of files read together, the first ones of which the engine gave every line, each with a time, in order, and no
    text that could be a number in another form."""
    rejected = load.rejected_files(engine)
    kinds = [value.kind for value in dict.fromkeys(whole.values) if value and value.kind]
    asked = [f"count({expression})" for _, expression in whole.times]
    asked += [f"count_if({kind} = {values.NO_NUMBER})" for kind in kinds]
    asked += [f"count_if({kind} = {values.BAD_QUALITY}) // count(*)" for kind in kinds]
    row = whole.row
    sql = f"SELECT filename, min({row}), max({row}), count(*), {', '.join(asked)} FROM {whole.relation}"
    sql += " GROUP BY filename"
    seen = {path: counts for path, *counts in engine.rows(sql)}
    times = list(range(len(whole.times)))
    parts: list[Part] = []
    begins = 0
    open_ones = 0
    for one in like:
        low, high, rows, *counts = seen.get(str(one.path), (None, None, 0))
        if (low, high, rows) != (begins, begins + one.lines - 1, one.lines) or str(one.path) in rejected:
            break
        timed, odd = counts[: len(whole.times)], counts[len(whole.times) :]
        own = [k for k, count in enumerate(timed) if count == rows]
        if any(odd) or not own:
            break
        if not set(own) & set(times):
            return alone  # files of two orders of day and month: none tells of another
        open_ones += len(own) > 1
        times = [k for k in times if k in own]
        parts.append(Part(one.file, begins, rows))
        begins += rows
    if len(parts) < 2:
        return alone
    paths = [one.path for one in like[: len(parts)]]
    return replace(
        whole,
        relation=f"(SELECT {row} AS r, * FROM {whole.relation} WHERE {row} < {begins})",
        row="r",
        raw=delimited.relation(paths, alone.file, reading.table, True),
        times=tuple(whole.times[k] for k in times),
        rows=begins,
        why=" (a day after the 12th in one of these files tells)" if open_ones and len(times) == 1 else "",
        parts=tuple(parts),
    )
