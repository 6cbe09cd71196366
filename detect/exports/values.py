"""Text → number, or the reason why it is none: decimal and thousands marks, words for bad values, quality
codes."""

import functools
import re
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sevenppb.detect.exports.engine import literal

Floats = npt.NDArray[np.float64]
Kinds = npt.NDArray[np.uint8]

# kinds of a raw value, as the engine numbers them; the word is the reason's name in the tally
KINDS = ("used", "empty", "text for bad", "not a number", "bad quality")
NUMBER, EMPTY, BAD_TEXT, NO_NUMBER, BAD_QUALITY = range(5)
OPEN, SHUT = 5, 6  # of a valve, until its tag's scale is known

# what historians and control systems write instead of a number (common practice, no source), in upper case
BAD_WORDS = (
    "BAD", "BAD INPUT", "BAD DATA", "BAD QUALITY", "BAD VALUE", "NO DATA", "NODATA", "NO VALUE",
    "NO SAMPLE", "NONE",
    "NULL", "NIL", "NA", "N/A", "#N/A", "#N/A N/A", "#NA", "#VALUE!", "#REF!", "#DIV/0!", "#NUM!", "#NAME?",
    "ERROR",
    "ERR", "FAIL", "FAILED", "FAULT", "INVALID", "I/O TIMEOUT", "IO TIMEOUT", "TIMEOUT", "TIMED OUT",
    "COMM FAIL",
    "COMM FAILURE", "COM FAIL", "COMMUNICATION FAILURE", "NOT CONNECTED", "DISCONNECTED", "OFFLINE",
    "OFF-LINE",
    "SCAN OFF", "SCAN TIMEOUT", "SHUTDOWN", "POINT CREATED", "PT CREATED", "CONFIGURE", "INTF SHUT",
    "INTERFACE SHUT",
    "OUT OF SERVICE", "OUT OF RANGE", "OVER RANGE", "UNDER RANGE", "OVERRANGE", "UNDERRANGE", "OVER", "UNDER",
    "ARC OFF-LINE", "ARC OFFLINE", "CALC FAILED", "UNKNOWN", "UNAVAILABLE", "NOT AVAILABLE", "SENSOR FAIL",
    "SENSOR FAILURE", "EQUIP FAIL", "NO RESULT", "NO GOOD DATA", "DEVICE FAILURE", "BLOCKED", "STALE",
    "UNCERTAIN",
    "NAN", "-NAN", "INF", "-INF", "INFINITY", "-INFINITY", "-", "--", "---", "----", "?", "??", "???", "*",
    "***",
    "*****", "X", ".", "MISSING", "NO READ", "NO READING", "SUBSTITUTED", "MAN", "TAG NOT FOUND", "NOT FOUND",
)  # fmt: skip

GOOD_WORDS = (
    "GOOD", "OK", "G", "VALID", "NORMAL", "TRUE", "YES", "GOOD;", "GOOD (192)", "GOOD(192)", "192", "192.0",
    "0X00C0",
    "0XC0", "C0", "GOOD, NON-SPECIFIC", "GOOD NON-SPECIFIC", "RAW", "O", "A", "CONFIRMED", "0X00000000",
    "0X0",
)  # fmt: skip
BAD_QUALITY_WORDS = (
    "BAD", "UNCERTAIN", "QUESTIONABLE", "B", "U", "Q", "S", "INVALID", "FALSE", "NO", "FAIL", "SUBSTITUTED",
    "STALE",
)  # fmt: skip

# what a limit switch says of a valve (common practice, no source)
OPEN_WORDS = ("OPEN", "OPENED", "ON")
SHUT_WORDS = ("CLOSED", "CLOSE", "SHUT", "OFF")

_SHAPE = str.maketrans("123456789", "000000000")
_EXPONENT = r"(?:[eE][+-]?\d+)?"
_CANDIDATE = re.compile(r"[+-−]?[\d.,'’ \u00a0\u202f]*\d[\d.,'’ \u00a0\u202f]*" + _EXPONENT)


@dataclass(frozen=True)
class NumberForm:
    """How a file writes numbers: the decimal mark, and the marks between thousands ("" for none)."""

    decimal: str
    thousands: str

    def words(self) -> str:
        names = {",": "comma", ".": "point", "": "", " ": "blanks", "'": "apostrophes"}
        between = names[self.thousands[:1]]
        return f"decimal {names[self.decimal]}" + (f", {between} between thousands" if between else "")

    @functools.cached_property
    def pattern(self) -> str:
        """What a number looks like, as a regular expression that Python and the engine read alike."""
        mark = re.escape(self.decimal)
        plain = rf"\d+(?:{mark}\d*)?|{mark}\d+"
        if self.thousands:
            plain = rf"\d{{1,3}}(?:[{self.thousands}]\d{{3}})+(?:{mark}\d*)?|{plain}"
        return rf"[+-]?(?:{plain}){_EXPONENT}"

    @functools.cached_property
    def _matches(self) -> Callable[[str], re.Match[str] | None]:
        return re.compile(self.pattern).fullmatch

    def is_number(self, text: str) -> bool:
        return self._matches(text.strip()) is not None


_BLANKS, _APOSTROPHES = " \u00a0\u202f", "'’"
FORMS = (
    NumberForm(".", ""), NumberForm(",", ""), NumberForm(".", ","), NumberForm(",", "."), NumberForm(",", _BLANKS),
    NumberForm(".", _BLANKS), NumberForm(".", _APOSTROPHES), NumberForm(",", _APOSTROPHES),
)  # fmt: skip


def number_form(samples: Iterable[str], delimiter: str) -> NumberForm:
    """The form in which all of these texts, or most, are written; of several that fit equally the first of FORMS.
    Where a comma stands before three digits only ("1,234"), it is the decimal mark unless the file's delimiter is a
    comma too (then such a number had to be quoted, as spreadsheets do with thousands)."""
    # thousands of texts have a dozen shapes, and only these can tell the forms apart
    shapes = Counter(text.translate(_SHAPE) for text in set(map(str.strip, samples)))
    order = [FORMS[0], FORMS[2], FORMS[1], *FORMS[3:]] if delimiter == "," else FORMS
    candidates = [(shape, count) for shape, count in shapes.items() if _CANDIDATE.fullmatch(shape)]
    return max(order, key=lambda form: sum(count for shape, count in candidates if form.is_number(shape)))


def number_sql(column: str, form: NumberForm) -> str:
    """The column's text as DOUBLE, NULL where it is no number in this form: another form's number is never guessed."""
    if form.thousands:
        bare = f"translate({column}, {literal(form.decimal + form.thousands)}, '.')"
        fits = f"regexp_full_match(trim({column}), {literal(form.pattern)})"
        return f"TRY_CAST(CASE WHEN {fits} THEN {bare} END AS DOUBLE)"
    if form.decimal == ",":
        return f"TRY_CAST(translate({column}, ',.', '.?') AS DOUBLE)"
    return f"TRY_CAST({column} AS DOUBLE)"


def stated(value: Floats, kind: Kinds, full: float | None) -> tuple[Floats, Kinds]:
    """Values and kinds with the states of a valve as numbers; `full` is 100 % in the tag's unit, None for a tag of
    which they say nothing."""
    if not (kind >= OPEN).any():
        return value, kind
    if full is None:
        return value, np.where(kind >= OPEN, NO_NUMBER, kind).astype(np.uint8)
    value = np.where(kind == OPEN, full, np.where(kind == SHUT, 0.0, value))
    return value, np.where(kind >= OPEN, NUMBER, kind).astype(np.uint8)


def kind_sql(number: str, text: str | None, good: str | None) -> str:
    """Which of KINDS a value is, or which state, from its expression as a number, its text where it has one, and a
    condition that is true for good values. Only values that are no number cost more than a look."""
    if text is None:
        missing = str(EMPTY)
    else:
        listed = ((BAD_WORDS, BAD_TEXT), (OPEN_WORDS, OPEN), (SHUT_WORDS, SHUT))
        cases = (
            f"WHEN upper(trim({text})) IN ({', '.join(map(literal, w))}) THEN {kind}" for w, kind in listed
        )
        blank = f"WHEN {text} IS NULL OR trim({text}) = '' THEN {EMPTY}"
        missing = f"CASE {blank} {' '.join(cases)} ELSE {NO_NUMBER} END"
    graded = f"CASE WHEN {good} THEN {NUMBER} ELSE {BAD_QUALITY} END" if good else str(NUMBER)
    return f"(CASE WHEN {number} IS NULL THEN {missing} ELSE {graded} END)::UTINYINT"


@dataclass(frozen=True)
class Good:
    """How a quality column is read: a condition for good values (None: it can't be read), and that in words; `hangs`
    where another part of the column could be read otherwise."""

    sql: str | None
    words: str
    hangs: bool


def quality(column: str, name: str, samples: Iterable[str]) -> Good:
    """How to read a quality column, from its name and some of its cells.

    OPC's codes: the two high bits of the low byte say good (OPC Data Access 2.05, quality flags); 192 is good.
    Of 0 and 1, 1 is good in a column named quality, 0 in one named status or error; all 0 can only mean good."""
    seen = {s.strip().upper().removesuffix(".0") for s in samples if s and s.strip()}
    text = f"upper(trim({column}::VARCHAR))"
    if seen and seen <= {"0", "1", "TRUE", "FALSE"}:
        zero_is_good = bool(re.search(r"stat|err|bad|alarm|fault|fail", name, re.I)) or seen == {"0"}
        good = ("0", "0.0", "FALSE") if zero_is_good else ("1", "1.0", "TRUE")
        return Good(
            f"({text} IN ({', '.join(literal(g) for g in good)}))",
            f"of 0 and 1, {good[0]} is taken as good",
            True,
        )
    if seen and all(re.fullmatch(r"\d{1,5}", s) for s in seen):
        low_byte = f"(TRY_CAST({column} AS DOUBLE)::BIGINT & 192)"
        return Good(
            f"(COALESCE({low_byte} = 192, false))", "OPC codes, 192 and above in the low byte are good", False
        )
    if seen & {*GOOD_WORDS, *BAD_QUALITY_WORDS} or any(s.startswith("GOOD") for s in seen):
        words = ", ".join(literal(w) for w in GOOD_WORDS)
        return Good(
            f"(COALESCE({text} IN ({words}) OR starts_with({text}, 'GOOD'), false))",
            "words, Good is good",
            False,
        )
    shown = ", ".join(f'"{s[:20]}"' for s in sorted(seen)[:3]) or "nothing"
    return Good(None, f'column "{name}" holds {shown}: not understood, not used', True)
