"""Text exports (CSV and its kin): their form, and the engine's way to read them. The form is found from the
file's head and confirmed by what the whole file then gives: lines that don't fit are counted, never skipped
in silence."""

from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from sevenppb.detect import units
from sevenppb.detect.errors import ExportFault
from sevenppb.detect.exports import form, header, timestamps, values
from sevenppb.detect.exports.engine import Engine, literal, quoted
from sevenppb.detect.exports.files import ExportFile
from sevenppb.detect.exports.form import Column, Form, Layout, LongColumns, TagColumn
from sevenppb.detect.exports.head import Head
from sevenppb.detect.exports.header import Table

_BUFFER = 16_000_000  # bytes that a thread parses at a time: the engine's own choice takes more memory
_LONGEST_LINE = 4_000_000  # bytes; 10,000 tags in a line take 0.2 million


def sniff(shown: str, head: Head, wanted: Sequence[str], layout: Layout) -> tuple[Form, Table]:
    """The form of a text export, and its table. Raises ExportFault where no form fits."""
    table = header.find(shown, head, wanted)
    columns = [Column(form.named_unit(name)[0], quoted(f"c{i}"), True) for i, name in enumerate(table.names)]
    time, times = _time(shown, table, columns)
    long = _long_columns(table, columns, wanted, layout)
    numbers = _numbers(table, columns, long)
    wide = () if long else _wide_columns(table, columns)
    told = (
        f"{header.DELIMITERS[table.delimiter]} between columns",
        numbers.words(),
        "a row a reading" if long else "a column a tag",
        *form.told_quality(wide, long),
    )
    if long is None and not any(table.names):
        raise ExportFault(f"{shown}: has no header row that names the tags. Export it with one.")
    return Form("long" if long else "wide", time, times, numbers, wide, long, told), table


def relation(paths: Sequence[Path], file: ExportFile, table: Table, quotes: bool) -> str:
    """The engine's FROM clause for the table: every column as text, under the names c0, c1, ... Several files come one
    after the other, and `filename` names each row's. Without `quotes` a quote is a character like any other."""
    columns = ", ".join(f"'c{i}': 'VARCHAR'" for i in range(len(table.names)))
    options = {
        "columns": f"{{{columns}}}", "auto_detect": "false", "header": "false",
        "skip": str(table.engine_skip),
        "delim": literal(table.delimiter), "store_rejects": "true", "max_line_size": str(_LONGEST_LINE),
        "buffer_size": str(_BUFFER),
        "compression": literal(file.compression if paths[0] == file.path else "none"),
    }  # fmt: skip
    if table.ragged or not quotes:  # padding would let a quote that is never closed swallow the rest
        options |= {"null_padding": str(table.ragged).lower(), "quote": "''", "escape": "''"}
    else:
        options |= {"quote": "'\"'", "escape": "'\"'"}
    if table.comment:
        options["comment"] = literal(table.comment)
    listed = ", ".join(literal(str(path)) for path in paths)
    return f"read_csv([{listed}], {', '.join(f'{k} = {v}' for k, v in options.items())})"


def confirm(engine: Engine, file: ExportFile, relation: str, table: Table) -> None:
    """Raises ExportFault where the engine's first row is not the one found in the file's head: rows would be
    lost."""
    found = engine.rows(f"SELECT {', '.join(f'c{i}' for i in table.time)} FROM {relation} LIMIT 1")
    wanted = [table.sample[0][i].strip() for i in table.time]
    if not found or [str(cell or "").strip() for cell in found[0]] != wanted:
        raise ExportFault(
            f"{file.shown}:{table.skip + 1}: the first reading here can't be found again when the file is "
            "read. "
            "Export it as plain CSV, with one header row and no quotes left open."
        )


def _time(shown: str, table: Table, columns: list[Column]) -> tuple[str, tuple[timestamps.TimeForm, ...]]:
    parts = [columns[i].sql for i in table.time]
    joined = parts[0] if len(parts) == 1 else f"(trim({parts[0]}) || ' ' || trim({parts[1]}))"
    rows = [[row[i] for i in table.time] for row in table.sample if len(row) > max(table.time)]
    texts = [row[0] if len(row) == 1 else " ".join(cell.strip() for cell in row) for row in rows]
    comma = any("," in t for t in texts) and not any(map(timestamps.looks_like_time, texts))
    if comma:  # spreadsheet days with a decimal comma
        joined, texts = f"replace({joined}, ',', '.')", [t.replace(",", ".") for t in texts]
    times = timestamps.recognise(texts) or _most(texts)
    if not times:
        raise ExportFault(
            f'{shown}:{table.skip + 1}: times like "{texts[0]}" can\'t be read in one form over the file. '
            "Export times like 2025-03-31 14:00:00."
        )
    return joined, tuple(times)


def _most(texts: list[str]) -> list[timestamps.TimeForm]:
    """The form of most of the texts, where a few are no times at all; these are then counted."""
    by_shape: dict[str, list[str]] = {}
    for text in texts:
        if timestamps.looks_like_time(text):
            by_shape.setdefault("".join("0" if c.isdigit() else c for c in text), []).append(text)
    shapes = sorted(by_shape.values(), key=len, reverse=True)
    return timestamps.recognise(shapes[0]) if shapes and len(shapes[0]) >= 0.8 * len(texts) else []


def _cells(table: Table, i: int) -> list[str]:
    return [row[i].strip() for row in table.sample if len(row) > i]


def _long_columns(
    table: Table, columns: list[Column], wanted: Sequence[str], layout: Layout
) -> LongColumns | None:
    """The columns of a long export, or None where a wide one fits better."""
    known = {form.same(t) for t in wanted}
    if layout == "wide" or (layout == "auto" and any(form.same(c.name) in known for c in columns)):
        return None
    rest = [i for i in range(len(columns)) if i not in table.time]
    text = {
        i: [
            c for c in _cells(table, i) if c and not header.is_number(c) and c.upper() not in values.BAD_WORDS
        ]
        for i in rest
    }
    named_quality = [i for i in rest if form.is_quality_name(table.names[i])]
    tags = [i for i in rest if any(form.same(c) in known for c in _cells(table, i))]
    tags += [i for i in rest if form.is_tag_name(table.names[i]) and i not in named_quality]
    if layout == "long" or len(columns) <= 8:
        tags += [i for i in rest if len(text[i]) > 0.9 * len(table.sample) and i not in named_quality]
    numeric = [
        i for i in rest if i not in tags[:1] and i not in named_quality and _number_share(table, i) > 0.3
    ]
    numeric.sort(key=lambda i: not form.is_value_name(table.names[i]))
    if not tags or not numeric:
        return None
    tag, value = tags[0], numeric[0]
    others = [i for i in rest if i not in (tag, value)]
    unit = next((i for i in others if form.is_unit_name(table.names[i])), None)
    if unit is None and not any(table.names):
        unit = next((i for i in others if text[i] and all(map(units.is_known, text[i]))), None)
    good = None
    for i in others:
        if i in named_quality or (i != unit and not any(table.names)):
            found = values.quality(columns[i].sql, table.names[i], _cells(table, i))
            good = found if found.sql or i in named_quality else None
        if good:
            break
    return LongColumns(columns[tag], columns[value], columns[unit] if unit is not None else None, good)


def _number_share(table: Table, i: int) -> float:
    cells = [c for c in _cells(table, i) if c]
    return sum(map(header.is_number, cells)) / len(cells) if cells else 0.0


def _wide_columns(table: Table, columns: list[Column]) -> tuple[TagColumn, ...]:
    names = [c.name for c in columns]
    by_name = {form.same(n): n for n in names}
    good: dict[str, values.Good] = {}
    quality: set[int] = set()
    for i, name in enumerate(names):
        before = names[i - 1] if i and i - 1 not in table.time and i - 1 not in quality else None
        if i in table.time or (tag := form.quality_of(name, by_name, before)) is None:
            continue
        quality.add(i)
        good[tag] = values.quality(columns[i].sql, name, _cells(table, i))
    counts = Counter(names)
    found = []
    for i, column in enumerate(columns):
        if i in table.time or i in quality or not column.name or counts[column.name] > 1:
            continue
        unit = (
            form.named_unit(table.names[i])[1]
            or (form.bare_unit(table.units[i]) if table.units else None)
            or None
        )
        described = table.descriptions[i] if table.descriptions else None
        found.append(TagColumn(column.name, column, unit, described or None, good.get(column.name)))
    return tuple(found)


def _numbers(table: Table, columns: list[Column], long: LongColumns | None) -> values.NumberForm:
    chosen = [i for i, c in enumerate(columns) if i not in table.time and (long is None or c == long.value)]
    samples = [cell for i in chosen[:200] for cell in _cells(table, i)]
    return values.number_form(samples, table.delimiter)
