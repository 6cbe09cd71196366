"""Where the table begins in a text export: delimiter, preamble, header rows, and which column holds time."""

import csv
import itertools
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from sevenppb.detect import units
from sevenppb.detect.errors import ExportFault
from sevenppb.detect.exports import form, timestamps
from sevenppb.detect.exports.head import Head
from sevenppb.detect.exports.values import BAD_WORDS, FORMS

DELIMITERS = {";": "semicolon", "\t": "tab", "|": "bar", ",": "comma"}
_SAMPLE = 300  # rows that decide the form
_TELLING = 10  # rows that tell a column of one value from one that changes: fewer may all be of one time
_MOST_HEADERS = 4
_CLOCK = re.compile(rf"\d{{1,2}}:\d{{2}}(:\d{{2}}([.,]\d+)?)?({timestamps.HALF_DAY})?")

Rows = list[list[str]]


@dataclass(frozen=True)
class Table:
    """A text export's table: `skip` lines stand before its data, of which `names`, `units` and `descriptions`
    are header rows (units and descriptions may be empty); `sample` is the data's beginning; `comment` is the
    mark of comment lines within the data ("" for none); `time` are the columns that make the time: one, or
    date and clock; `ragged` where rows leave out their last empty
    cells; `quotes` where cells stand in quotes; `engine_skip` is `skip` as the engine counts it, which passes over
    comment lines once it knows their mark; `lines` of data there are, where the head is the whole file."""

    delimiter: str
    skip: int
    names: tuple[str, ...]
    units: tuple[str, ...]
    descriptions: tuple[str, ...]
    sample: Rows
    comment: str
    time: tuple[int, ...]
    ragged: bool
    quotes: bool
    engine_skip: int
    lines: int | None


def is_number(text: str) -> bool:
    """Whether a text is a number in any of the usual forms."""
    return any(form.is_number(text) for form in FORMS)


def find(shown: str, head: Head, wanted: Sequence[str]) -> Table:
    """The table of a text export; `wanted` are tags that help to tell the row of names. Raises
    ExportFault."""
    comment = "#" if any(line.lstrip().startswith("#") for line in head.lines) else ""
    numbered = [
        (i, line)
        for i, line in enumerate(head.lines)
        if line.strip() and not (comment and line.lstrip().startswith("#"))
    ]
    if not numbered:
        raise ExportFault(f"{shown}: holds nothing but comment lines. Export it again.")
    if _parted_by_blanks([line for _, line in numbered]):
        raise ExportFault(
            f"{shown}: blanks alone stand between its columns, and can't be told from blanks within times and names. "
            "Export it with commas, semicolons or tabs between columns."
        )
    delimiter = _delimiter(shown, [line for _, line in numbered])
    rows = [
        (i, row)
        for (i, _), row in zip(numbered, _split([line for _, line in numbered], delimiter), strict=True)
    ]
    width = _width([row for _, row in rows])
    body = [row for _, row in rows if len(row) == width]
    time = _time_columns(body)
    if not time:
        raise ExportFault(_no_time(shown, head, [row for _, row in rows]))
    start = next(k for k, (_, row) in enumerate(rows) if len(row) > max(time) and _is_time(row, time))
    headers = _headers(rows[:start], width)
    if not headers and comment:
        headers = _from_comment(head.lines[: rows[start][0]], delimiter, width)
    names, unit_row, descriptions = _roles_of(headers, wanted, width)
    skip = rows[start][0]
    inside = comment if any(line.lstrip().startswith("#") for line in head.lines[skip:]) else ""
    sample = [row for _, row in rows[start : start + _SAMPLE]]
    quotes = any(line.count('"') > 1 for i, line in numbered if i >= skip)
    ragged = any(len(row) < width for row in sample) and not quotes
    passed = sum(line.lstrip().startswith("#") for line in head.lines[:skip]) if inside else 0
    lines = len(rows) - start if head.whole else None
    return Table(
        delimiter,
        skip,
        names,
        unit_row,
        descriptions,
        sample,
        inside,
        time,
        ragged,
        quotes,
        skip - passed,
        lines,
    )


def _split(lines: Sequence[str], delimiter: str) -> Rows:
    """Each line as cells; a line that the quotes leave open stays alone, so that rows and lines keep step."""
    return [next(csv.reader([line], delimiter=delimiter), []) for line in lines]


def _parted_by_blanks(lines: list[str]) -> bool:
    """Whether the lines are a table of columns under each other, with a time first and numbers after it."""
    sample = [line.split() for line in lines[-_SAMPLE:]]
    if any(mark in line for mark in ";\t|" for line in lines[-_SAMPLE:]):
        return False
    width = _width(sample)
    fits = [
        len(words) == width > 2
        and any(timestamps.looks_like_time(" ".join(words[:n])) for n in (1, 2))
        and all(is_number(word) or word.upper() in BAD_WORDS for word in words[2:])
        for words in sample
    ]
    return sum(fits) >= 0.8 * len(fits)


def _delimiter(shown: str, lines: list[str]) -> str:
    """The mark that cuts most lines into equally many cells that can be read."""
    sample = lines[-_SAMPLE:]
    best, score = "", 0.0
    for delimiter in DELIMITERS:
        if not any(delimiter in line for line in sample):
            continue
        try:
            rows = _split(sample, delimiter)
        except csv.Error as error:
            raise ExportFault(
                f"{shown}: can't be split in columns ({error}). Export it as plain CSV."
            ) from None
        width = _width(rows)
        if width < 2:
            continue
        even = [row for row in rows if len(row) == width]
        cells = [cell for row in even[:30] for cell in row[:200]]
        read = sum(_readable(cell) for cell in cells) / len(cells)
        if (this := read * len(even) / len(rows)) > score:
            best, score = delimiter, this
    if not best:
        raise ExportFault(
            f"{shown}: no delimiter (comma, semicolon, tab or bar) splits its lines into columns. Export it "
            "as CSV."
        )
    return best


def _readable(cell: str) -> float:
    """How much a cell looks like one: numbers, times, words for bad values and blanks do, other text less."""
    text = cell.strip()
    if not text or is_number(text) or timestamps.looks_like_time(text) or _CLOCK.fullmatch(text):
        return 1.0
    return 0.9 if text.upper() in BAD_WORDS else 0.3


def _width(rows: Rows) -> int:
    counts = Counter(len(row) for row in rows if len(row) > 1)
    return counts.most_common(1)[0][0] if counts else 0


def _is_time(row: list[str], time: tuple[int, ...]) -> bool:
    text = " ".join(row[i].strip() for i in time)
    return timestamps.looks_like_time(text) or bool(timestamps.recognise([text.replace(",", ".")]))


def _time_columns(body: Rows) -> tuple[int, ...]:
    """The columns of time: such as are written as times, else plain numbers that can be times; of several the first
    whose cells aren't all the same, which is rather a code."""
    sample = body[len(body) // 2 :][:_SAMPLE]
    if not sample:
        return ()
    found = _written_times(sample) or _counted_times(sample)
    if len(sample) >= _TELLING:
        found.sort(key=lambda time: len({tuple(row[i] for i in time) for row in sample}) == 1)
    return found[0] if found else ()


def _written_times(sample: Rows) -> list[tuple[int, ...]]:
    """The columns that can be read as times in nearly all rows; with a clock beside one, both."""
    enough = 0.8 * len(sample)
    width = len(sample[0])
    found: list[tuple[int, ...]] = []
    for i in range(width):
        column = [row[i].strip() for row in sample]
        if sum(map(timestamps.looks_like_time, column)) < enough:
            continue
        clocks = [
            j
            for j in (i + 1, i - 1)
            if 0 <= j < width and sum(bool(_CLOCK.fullmatch(row[j].strip())) for row in sample) >= enough
        ]
        found.append((i, *clocks[:1]) if not any(":" in cell for cell in column) else (i,))
    return found


def _counted_times(sample: Rows) -> list[tuple[int, ...]]:
    """The columns of plain numbers that can be times, and run one way."""
    found: list[tuple[int, ...]] = []
    for i in range(len(sample[0])):
        column = [row[i].strip().replace(",", ".") for row in sample]
        if all(column) and timestamps.recognise(column):
            numbers = [float(cell) for cell in column]
            steps = [b - a for a, b in itertools.pairwise(numbers)]
            if all(s >= 0 for s in steps) or all(s <= 0 for s in steps):
                found.append((i,))
    return found


def _no_time(shown: str, head: Head, rows: Rows) -> str:
    if len(rows) <= _MOST_HEADERS and head.whole:
        return f"{shown}: has a header but no readings. Export it again with a time span that has some."
    first = next((row[0] for row in rows[1:] if row), "")
    named = re.search(r"\d (?!AM|PM)([A-Z]{2,5})$", first.strip())
    if named:
        return (
            f'{shown}: times like "{first.strip()[:40]}" name a zone by letters, and {named[1]} is not one clock '
            "everywhere. Export times in UTC or with an offset (+01:00), or without a zone and set timezone in the "
            "fleet file."
        )
    return (
        f'{shown}: no column can be read as time (the first cells look like "{first[:40]}"). '
        "Export times like 2025-03-31 14:00:00, or as seconds since 1970."
    )


def _headers(above: list[tuple[int, list[str]]], width: int) -> Rows:
    """The header rows directly above the data: as wide as it, or short of empty last cells."""
    found: Rows = []
    for _, row in reversed(above):
        if (
            not 1 < len(row) <= width
            or len(found) == _MOST_HEADERS
            or (len(row) < width and len(row) < width - 1)
        ):
            break
        found.insert(0, [*row, *[""] * (width - len(row))])
    return found


def _from_comment(above: Sequence[str], delimiter: str, width: int) -> Rows:
    """Headers may stand in comment lines ("# timestamp,PT-101")."""
    rows = _split(
        [line.lstrip().lstrip("#").strip() for line in above if line.lstrip().startswith("#")], delimiter
    )
    return [row for row in rows if len(row) == width][-_MOST_HEADERS:]


def _roles_of(headers: Rows, wanted: Sequence[str], width: int) -> tuple[tuple[str, ...], ...]:
    """Which header row names the tags, which their units, which describes them."""
    if not headers:
        return ("",) * width, (), ()
    known = {form.same(tag) for tag in wanted}
    matches = [sum(form.same(form.named_unit(cell)[0]) in known for cell in row) for row in headers]
    unit_like = [_unit_share(row) for row in headers]
    if max(matches) > 0:
        names = matches.index(max(matches))
    else:
        names = next((k for k, share in enumerate(unit_like) if share < 0.5), 0)
    rest = [k for k in range(len(headers)) if k != names]
    unit_row = max(rest, key=lambda k: unit_like[k], default=None)
    if unit_row is not None and unit_like[unit_row] < 0.5:
        unit_row = None
    described = next((k for k in rest if k != unit_row), None)
    cells = [tuple(cell.strip() for cell in row) for row in headers]
    return (
        cells[names],
        cells[unit_row] if unit_row is not None else (),
        cells[described] if described is not None else (),
    )


def _unit_share(row: list[str]) -> float:
    """How many of a row's cells, time's left out, are units."""
    cells = [form.bare_unit(c) for c in row if c.strip() and not form.is_time_name(c)]
    return sum(units.is_known(c) for c in cells) / len(cells) if cells else 0.0
