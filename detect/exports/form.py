"""The form of one export, delimited or columnar: where its times, tags, values, units and quality stand, and
why we think so."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from sevenppb.detect import units
from sevenppb.detect.exports.timestamps import TimeForm
from sevenppb.detect.exports.values import Good, NumberForm

Layout = Literal["auto", "wide", "long"]


@dataclass(frozen=True)
class Column:
    """One column: its name in the file, its name for the engine (quoted), and whether it holds text."""

    name: str
    sql: str
    text: bool


@dataclass(frozen=True)
class TagColumn:
    """A column of one tag's values in a wide export. `good` is a condition for good values, where the file
    has a quality column for the tag."""

    tag: str
    column: Column
    unit: str | None
    description: str | None
    good: Good | None


@dataclass(frozen=True)
class LongColumns:
    """The columns of a long export. `unit` is the column that names each value's unit."""

    tag: Column
    value: Column
    unit: Column | None
    good: Good | None


@dataclass(frozen=True)
class Form:
    """How to read one export. `time` is the engine's expression for the time as it is written; `times` holds
    one form of it, or two that only more files can part. `told` says in words what was found of the
    rest."""

    layout: Literal["wide", "long"]
    time: str
    times: tuple[TimeForm, ...]
    numbers: NumberForm
    wide: tuple[TagColumn, ...]
    long: LongColumns | None
    told: tuple[str, ...]


def told_quality(wide: Sequence[TagColumn], long: LongColumns | None) -> tuple[str, ...]:
    """How quality columns are read, in words."""
    goods = [long.good] if long else [column.good for column in wide]
    return tuple(dict.fromkeys(f"quality: {good.words}" for good in goods if good))


_TIME_NAME = re.compile(
    r"(?i)^\W*(time|timestamp|date|datetime|ts|t|zeit\w*|tid\w*|dato|datum|fecha|hora|heure|epoch|when)\b"
    r"|time\s*stamp|date.?time|_time$|^index$|__index_level"
)
_TAG_NAME = re.compile(
    r"(?i)^\W*(tag\w*|point\w*|item\w*|sensor\w*|signal\w*|name|variable|channel|instrument|id|series|path)\W*$"
    r"|(tag|point).?(name|id)"
)
_VALUE_NAME = re.compile(
    r"(?i)^\W*(value|val|reading|pv|v|data|avg|average|mean|wert|verdi|valor|measure\w*|result)\b|value"
)
_QUALITY_NAME = re.compile(
    r"(?i)^\W*(quality|qual|q|status|stat|good|valid|flag|statuscode|is.?good)\W*$|quality|status"
)
_UNIT_NAME = re.compile(r"(?i)^\W*(unit|units|uom|eu|eng.?units?|engineering.?units?|einheit|enhet)\W*$")
_QUALITY_ENDING = re.compile(
    r"(?i)[\s._:/|(\[-]*(opc[\s._-]*)?(quality|qual|status|stat|good|valid|flag|q)\W*$"
)


def is_time_name(name: str) -> bool:
    return _TIME_NAME.search(name) is not None


def is_tag_name(name: str) -> bool:
    return _TAG_NAME.search(name) is not None


def is_value_name(name: str) -> bool:
    return _VALUE_NAME.search(name) is not None


def is_quality_name(name: str) -> bool:
    return _QUALITY_NAME.search(name) is not None


def is_unit_name(name: str) -> bool:
    return _UNIT_NAME.search(name) is not None


def named_unit(header: str) -> tuple[str, str | None]:
    """A header cell → the tag and the unit it names in brackets or after a comma, if any."""
    text = header.strip()
    for pattern in (
        r"(.+?)\s*\[([^\[\]]+)\]",
        r"(.+?)\s*\(((?:[^()]|\([^()]*\))+)\)",
        r"(.+?)\s*[,;]\s*([^,;]+)",
    ):
        found = re.fullmatch(pattern, text, re.DOTALL)
        if found and units.is_known(found[2]):
            return found[1], found[2].strip()
    return text, None


def bare_unit(text: str) -> str:
    """A unit without the brackets around it; those within it (bar(g)) stay."""
    found = re.fullmatch(r"\s*(?:\[(.*)\]|\((.*)\))\s*", text)
    return (found[1] or found[2] or "").strip() if found else text.strip()


def same(tag: str) -> str:
    """A tag folded as people misspell it: case and blanks."""
    return re.sub(r"\s+", " ", tag.strip()).casefold()


def quality_of(name: str, tags: dict[str, str], before: str | None) -> str | None:
    """The tag whose quality a column of this name holds: the one named in it, else the column just before.
    `tags` are the columns' tags, by their folded names."""
    ending = _QUALITY_ENDING.search(name)
    if ending is None:
        return None
    named = name[: ending.start()]
    return tags.get(same(named)) if named else before
