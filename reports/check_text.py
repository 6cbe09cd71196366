"""What `check` tells of one vessel, as plain text: exports, tags, doubts, and what a scan could see."""

import itertools
import textwrap
from collections.abc import Sequence

import pandas as pd

from sevenppb.detect.exports.check import FileCheck, TagCheck, VesselCheck
from sevenppb.detect.incidents.incident import VesselScan
from sevenppb.reports import numbers, words
from sevenppb.reports.numbers import Units
from sevenppb.reports.views.vessel import coverage_view

WIDTH = 100
_FEW_FILES = 3
_HEADS = (
    "role",
    "tag",
    "unit",
    "readings",
    "used",
    "from",
    "to",
    "every",
    "gaps",
    "longest",
    "low",
    "median",
    "high",
)


def check_text(check: VesselCheck, seen: VesselScan, units: Units, timezone: str) -> str:
    """Everything about one vessel, days by the clock of `timezone`; `seen` is asked for its coverage only."""
    parts = [check.vessel]
    for form, files in itertools.groupby(check.files, key=lambda file: file.form):
        parts.extend(_files(list(files), "; ".join(form)))
    parts.extend(["", *_table([_HEADS, *(_row(tag, timezone) for tag in check.tags)], texts=3)])
    parts.extend(_not_used(check.tags))
    parts.extend(["", *(_wrapped(words.plain(note)) for note in check.notes)] if check.notes else [])
    if check.problems:
        parts.extend(["", "  To put right:", *map(_wrapped, check.problems)])
    parts.extend(["", *_coverage(seen, units, timezone)])
    return "\n".join(parts) + "\n"


def total_text(
    vessels: int, to_put_right: Sequence[str], too_little: Sequence[str], unread: Sequence[str]
) -> str:
    """The last line: how many vessels were looked at, and which of them ask for something."""
    asked = [("to put right", to_put_right), ("can't be scanned", too_little), ("not read", unread)]
    told = [f"{what}: {', '.join(names)}" for what, names in asked if names]
    return f"{words.count(vessels, 'vessel')} checked; {'; '.join(told) or 'nothing to put right'}."


def _files(files: Sequence[FileCheck], form: str) -> list[str]:
    """Exports that follow each other and are read alike: a line each, or one for all where they are many."""
    told = f"; {form}" if form else ""
    if len(files) <= _FEW_FILES:
        return [_wrapped(f"{file.file}: {numbers.number(file.rows, 0)} rows{told}") for file in files]
    rows = numbers.number(sum(file.rows for file in files), 0)
    least, most = (choose(files, key=lambda file: file.rows) for choose in (min, max))
    each = f"{numbers.number(most.rows, 0)} each"
    if least.rows < most.rows:
        each = f"from {numbers.number(least.rows, 0)} ({least.file}) to {numbers.number(most.rows, 0)} ({most.file})"
    span = f"{len(files)} files, {files[0].file} to {files[-1].file}"
    return [_wrapped(f"{span}: {rows} rows, {each}{told}")]


def _row(tag: TagCheck, timezone: str) -> tuple[str, ...]:
    used = numbers.percent(tag.used / tag.readings) if tag.readings else numbers.NONE
    decimals = numbers.decimals_for_digits(max(tag.high, -tag.low), 4)
    return (
        words.feature(tag.role),
        tag.tag,
        tag.unit,
        numbers.number(tag.readings, 0),
        used,
        *(words.day(end and end.tz_convert(timezone)) for end in (tag.first, tag.last)),
        _duration(tag.interval),
        str(tag.gaps),
        _duration(tag.longest_gap) if tag.gaps else numbers.NONE,
        *(numbers.number(value, decimals) for value in (tag.low, tag.middle, tag.high)),
    )


def _not_used(tags: Sequence[TagCheck]) -> list[str]:
    """How many values of each tag were not used: a column a reason that any of them has."""
    cut = [tag for tag in tags if tag.bad]
    reasons = list(dict.fromkeys(reason for tag in cut for reason in tag.bad))
    rows = [
        (words.feature(tag.role), *(numbers.number(tag.bad.get(reason, 0), 0) for reason in reasons))
        for tag in cut
    ]
    return ["", *_table([("not used, by reason", *reasons), *rows], texts=1)] if cut else []


def _duration(span: pd.Timedelta | None) -> str:
    """In the largest unit that leaves a number of one or more."""
    if span is None:
        return numbers.NONE
    seconds = span.total_seconds()
    for size, name in ((86_400, "d"), (3_600, "h"), (60, "min")):
        if seconds >= size:
            return f"{seconds / size:.3g} {name}"
    return f"{seconds:.3g} s"


def _coverage(seen: VesselScan, units: Units, timezone: str) -> list[str]:
    """Which causes a scan of these readings could show, from which size on."""
    if seen.state != "scanned":
        return ["  It can't be scanned:", _wrapped(words.plain(f"{seen.error}"))]
    lines = ["  A scan of these readings could see:"]
    for row in coverage_view(seen, 1, units).rows:
        helped = "" if row.missing == numbers.NONE else f"; it would help to have {row.missing}"
        alike = "" if row.confusable == numbers.NONE else f", like {row.confusable}"
        size = f"from {row.smallest}" if row.visible == "yes" else "not visible"
        lines.append(_wrapped(f"{row.cause}: {size}{alike}{helped}"))
    return lines


def _wrapped(text: str) -> str:
    return textwrap.fill(
        text,
        WIDTH,
        initial_indent="  - ",
        subsequent_indent="    ",
        break_long_words=False,
        break_on_hyphens=False,  # a tag or a file stays whole
    )


def _table(rows: Sequence[tuple[str, ...]], texts: int) -> list[str]:
    """Columns in line: `texts` of them at the left, the rest, numbers, at the right."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return [
        "  "
        + "  ".join(
            cell.ljust(width) if n < texts else cell.rjust(width)
            for n, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    ]
