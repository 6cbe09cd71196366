"""Text or number → time: which form a column has."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

Order = Literal["day first", "month first"]
_MONTHS = "jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec"


@dataclass(frozen=True)
class TimeForm:
    """How a column writes time. `sql` has {x} for the column and gives microseconds since 1970, of UTC where
    `zoned`, else of the wall clock; NULL where the text is no such time. `order` is told where both
    could be meant by the form alone."""

    words: str
    sql: str
    zoned: bool
    order: Order | None = None


def _epoch(words: str, factor: str) -> TimeForm:
    return TimeForm(words, f"CAST(round(TRY_CAST({{x}} AS DOUBLE) * {factor}) AS BIGINT)", True)


# (least, greatest, form) of plain numbers: 2001 to 2065; serial days are wall-clock time, rounded to the
# second
_NUMBERS = (
    (1e9, 3e9, _epoch("seconds since 1970 (UTC)", "1e6")),
    (1e12, 3e12, _epoch("milliseconds since 1970 (UTC)", "1e3")),
    (1e15, 3e15, _epoch("microseconds since 1970 (UTC)", "1.0")),
    (1e18, 3e18, _epoch("nanoseconds since 1970 (UTC)", "1e-3")),
    (36526, 60271, TimeForm(
        "spreadsheet days",
        "CAST(round((TRY_CAST({x} AS DOUBLE) - 25569) * 86400) * 1000000 AS BIGINT)", False)),
)  # fmt: skip

_BLANK = "[ \u00a0\u202f]"  # no-break ones too
HALF_DAY = rf"{_BLANK}?[AaPp]\.?{_BLANK}?[Mm]\.?"  # PM, p.m., p. m.
_CLOCK = (
    r"(?P<clock>[T ]+(?P<h>\d{1,2}):(?P<m>\d{2})(?P<s>:\d{2})?(?P<f>[.,]\d+)?"
    rf"(?P<p>{HALF_DAY})?)?"
)
_ZONE = r"(?P<zone> ?(?:Z|UTC|GMT|[+-]\d{2}(?::?\d{2})?))?"
_DATES = (
    ("iso", r"(?P<date>\d{4}(?P<sep>[-/.])\d{1,2}(?P=sep)\d{1,2})"),
    ("compact", r"(?P<date>\d{8})(?P<sep>)"),
    ("numbers", r"(?P<a>\d{1,2})(?P<sep>[-/.])(?P<b>\d{1,2})(?P=sep)(?P<y>\d{4}|\d{2})"),
    (
        "named",
        rf"(?P<a>\d{{1,2}})(?P<sep>[-/. ])(?P<month>(?i:{_MONTHS})[a-z]*)\.?(?P=sep)(?P<y>\d{{4}}|\d{{2}})",
    ),
    ("named first", rf"(?P<month>(?i:{_MONTHS})[a-z]*)\.? (?P<a>\d{{1,2}}),?(?P<sep> )(?P<y>\d{{4}})"),
)
_TIGHT = r"(?P<clock>[T ](?P<h>\d{2})(?P<m>\d{2})(?P<s>\d{2})?(?P<f>\.\d+)?(?P<p>))?"
_PATTERNS = [(kind, re.compile(date + ",?" + _CLOCK + _ZONE)) for kind, date in _DATES]
_PATTERNS.append(("compact", re.compile(_DATES[1][1] + _TIGHT + _ZONE)))


def looks_like_time(text: str) -> bool:
    """Whether a text can be read as a date or a date and time (plain numbers can't: they may be values)."""
    text = text.strip()
    if re.match(r"\d{8}(?:[T ]|$)", text):
        return text[:2] in ("19", "20") and text[4:6] <= "12" and text[6:] <= "31"
    return any(pattern.fullmatch(text) for _, pattern in _PATTERNS)


def recognise(samples: Sequence[str]) -> list[TimeForm]:
    """The forms that fit all of these texts: none, one, or two (day first, month first) that only more can
    part."""
    texts = [s.strip() for s in samples if s and s.strip()]
    if not texts:
        return []
    for least, greatest, form in _NUMBERS:
        if all(_between(t, least, greatest) for t in texts):
            return [form]
    for kind, pattern in _PATTERNS:
        found = [pattern.fullmatch(t) for t in texts]
        matches = [m for m in found if m]
        if len(matches) == len(texts):
            padded = any(s != s.strip() for s in samples)
            return _forms(kind, matches, "trim({x})" if padded else "{x}")
    return []


def _between(text: str, least: float, greatest: float) -> bool:
    try:
        return least <= float(text) <= greatest
    except ValueError:
        return False


def _forms(kind: str, matches: list[re.Match[str]], text: str) -> list[TimeForm]:
    zoned = matches[0]["zone"] is not None
    if any((m["zone"] is not None) != zoned for m in matches) or len({m["sep"] for m in matches}) > 1:
        return []
    if any("," in (m["f"] or "") for m in matches):
        text = f"replace({text}, ',', '.')"
    if kind == "iso":
        return [_iso(matches, text, zoned)]
    sep = matches[0]["sep"]
    if kind == "compact":
        return [_strptime("yearmonthday", _clocks(matches, "%Y%m%d"), text, zoned)]
    year = "%Y" if len(matches[0]["y"]) == 4 else "%y"
    if kind.startswith("named"):
        month = "%b" if all(len(m["month"]) == 3 for m in matches) else "%B"
        comma = "," if "," in matches[0][0] else ""
        date = f"%d{sep}{month}{sep}{year}" if kind == "named" else f"{month} %d{comma} {year}"
        return [_strptime("day and month's name", _clocks(matches, date), text, zoned)]
    day_first = _strptime("day first", _clocks(matches, f"%d{sep}%m{sep}{year}"), text, zoned, "day first")
    month_first = _strptime(
        "month first", _clocks(matches, f"%m{sep}%d{sep}{year}"), text, zoned, "month first"
    )
    fits = [
        form
        for form, day, month in ((day_first, "a", "b"), (month_first, "b", "a"))
        if all(1 <= int(m[day]) <= 31 and 1 <= int(m[month]) <= 12 for m in matches)
    ]
    return fits


def _iso(matches: list[re.Match[str]], text: str, zoned: bool) -> TimeForm:
    if zoned:  # a blank before the offset, and an offset without colon, are no form the engine casts
        text = f"regexp_replace({text}, ' ?([+-]\\d\\d):?(\\d\\d)$', '\\1:\\2')"
        text = f"replace({text}, ' Z', 'Z')" if any(m["zone"] == " Z" for m in matches) else text
        return TimeForm("year-month-day with zone", f"epoch_us(TRY_CAST({text} AS TIMESTAMPTZ))", True)
    if matches[0]["sep"] != "-":
        text = f"regexp_replace({text}, '^(\\d+)[./](\\d+)[./]', '\\1-\\2-')"
    if any(m["p"] for m in matches):
        return _strptime("year-month-day", _clocks(matches, "%Y-%m-%d"), text, zoned)
    return TimeForm("year-month-day", f"epoch_us(TRY_CAST({text} AS TIMESTAMP))", False)


def _clocks(matches: list[re.Match[str]], date: str) -> list[str]:
    """The engine's formats for a date with the clocks that occur."""
    found: dict[str, None] = {}
    for m in matches:
        clock = ""
        if m["clock"]:
            lead = m["clock"][: len(m["clock"]) - len(m["clock"].lstrip("T "))]
            hour = "%I" if m["p"] else "%H"
            comma = "," if m[0][: m.start("clock")].endswith(",") else ""
            colon = ":" if ":" in m["clock"] else ""
            clock = f"{comma}{lead}{hour}{colon}%M{f'{colon}%S' if m['s'] else ''}{'.%f' if m['f'] else ''}"
            clock += " %p" if m["p"] else ""
        found[date + clock] = None
    if all(".%f" in f or ":%S" in f for f in found):  # whole seconds may be written without a fraction
        found |= {f.replace(".%f", ""): None for f in list(found)}
    return list(found)


def _strptime(words: str, formats: list[str], text: str, zoned: bool, order: Order | None = None) -> TimeForm:
    listed = ", ".join(f"'{f}'" for f in formats)
    if any("%p" in f for f in formats):  # the engine knows AM and PM, in either case
        half = f"(\\d){_BLANK}?([AaPp])[.]?{_BLANK}?([Mm])[.]?"
        text = f"regexp_replace({text}, '{half}', '\\1 \\2\\3')"
    if zoned:  # the offset is cut off, read on its own and taken from the wall clock
        zone = f"regexp_extract({text}, '(Z|UTC|GMT|[+-]\\d\\d:?\\d\\d|[+-]\\d\\d)$')"
        bare = f"trim(left({text}, length({text}) - length({zone})))"
        digits = f"rpad(regexp_replace({zone}, '[^0-9]', '', 'g'), 4, '0')"
        minutes = f"(60 * left({digits}, 2)::INT + right({digits}, 2)::INT)"
        shift = f"{minutes} * (CASE WHEN left({zone}, 1) = '-' THEN -1 ELSE 1 END)"
        return TimeForm(
            f"{words} with zone",
            f"{_parsed(bare, listed)} - {shift} * 60000000",
            True,
            order,
        )
    return TimeForm(words, _parsed(text, listed), zoned, order)


def _parsed(text: str, formats: str) -> str:
    """Text in one of the formats [us]; 24:00 is the next day's midnight, which the engine knows of ISO's form only."""
    midnight = f"regexp_replace({text}, '([T ])24([:]?00)', '\\1 00\\2')"
    next_day = f"epoch_us(TRY_STRPTIME(replace({midnight}, '  ', ' '), [{formats}])) + 86400000000"
    late = f"CASE WHEN contains({text}, '24') THEN {next_day} END"
    return f"COALESCE(epoch_us(TRY_STRPTIME({text}, [{formats}])), {late})"
