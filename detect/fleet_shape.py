"""The fleet file's shape: which keys there are, and of which type.

pydantic finds what does not fit; this file says it in the user's words. What a value means is `fleet`'s.
"""

import difflib
from collections.abc import Iterable
from typing import Any, Literal, get_args

from pydantic import BaseModel, ConfigDict, Field, ValidationError
from pydantic_core import ErrorDetails

from sevenppb.detect.roles import ROLES

Path = tuple[str | int, ...]
Dates = Literal["auto", "day first", "month first"]  # the order of day and month


class _Shape(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)


class CostShape(_Shape):
    steam: float = Field(gt=0)
    currency: str = Field(min_length=1)


class FleetShape(_Shape):
    name: str = Field(min_length=1)
    timezone: str = "UTC"
    display: Literal["si", "us"] = "si"
    baseline: Any = None
    dates: Dates = "auto"
    register_: str | None = Field(default=None, min_length=1, alias="register")  # pydantic has a `register`
    cost: CostShape | None = None


class TagShape(_Shape):
    tag: str = Field(min_length=1)
    unit: str | None = None


class WorkShape(_Shape):
    date: Any
    what: str = Field(min_length=1)
    resets: list[str] = Field(min_length=1)


class VesselShape(_Shape):
    id: str = Field(min_length=1)
    exports: list[str] = Field(min_length=1)
    tags: dict[str, TagShape]
    layout: Literal["auto", "wide", "long"] = "auto"
    capacity: str | None = None
    baseline: Any = None
    dates: Dates = "auto"
    barometer: str | None = None
    vent_bore: str | None = None
    limits: dict[str, str] = Field(default_factory=dict)
    work: list[WorkShape] = Field(default_factory=list)


class FileShape(_Shape):
    fleet: FleetShape
    vessel: list[VesselShape] = Field(min_length=1)


_PLAIN = {
    "missing": "is needed but not there.",
    "string_too_short": "can't be empty.",
    "too_short": "can't be empty.",
}
_WORDS = {
    "string_type": "text in quotes", "list_type": "a list in [brackets]", "dict_type": "a table",
    "model_type": "a table", "float_type": "a number", "finite_number": "a finite number",
}  # fmt: skip


def words(path: Path, document: dict[str, Any], before: int) -> str:
    """A path in the user's words: vessel "DA-1", tags.shell_pressure. `before` the document's vessels stand so many."""
    if len(path) >= 2 and path[0] == "vessel" and isinstance(path[1], int):
        name = _vessel_name(document, path[1], before)
        rest = _dotted(path[2:])
        return f"{name}, {rest}" if rest else name
    return _dotted(path)


def _dotted(path: Path) -> str:
    return "".join(f"[{p + 1}]" if isinstance(p, int) else f".{p}" for p in path).lstrip(".")


def _vessel_name(document: dict[str, Any], index: int, before: int) -> str:
    """`vessel "DA-1"`, or its number where the id is missing."""
    listed = document.get("vessel")
    row = listed[index] if isinstance(listed, list) and index < len(listed) else None
    name = row.get("id") if isinstance(row, dict) else None
    return f'vessel "{name}"' if isinstance(name, str) and name else f"vessel {before + index + 1}"


def nearest(word: str, known: Iterable[str]) -> str:
    """` Did you mean "x"?`, or the known words."""
    names = sorted(known)
    folded = {n.lower().replace("-", "_"): n for n in names}
    near = difflib.get_close_matches(word.lower().replace("-", "_"), list(folded), n=1, cutoff=0.6)
    return f' Did you mean "{folded[near[0]]}"?' if near else f" Known here: {', '.join(names)}."


def shape_faults(document: dict[str, Any]) -> list[tuple[Path, str]]:
    """What pydantic finds wrong with the document's keys and types: a path and half a sentence each."""
    try:
        FileShape.model_validate(document)
    except ValidationError as error:
        return _told(error.errors(include_url=False))
    return []


def _told(errors: list[ErrorDetails]) -> list[tuple[Path, str]]:
    unknown = {e["loc"] for e in errors if e["type"] == "extra_forbidden"}
    misspelt = {(*loc[:-1], *_suggestion(loc)) for loc in unknown}
    told = []
    for error in errors:
        if error["type"] == "missing" and error["loc"] in misspelt:
            continue  # said once, with the suggestion
        told.append((error["loc"], _sentence(error)))
    return told


def _fields(path: Path) -> list[str]:
    """The keys known beside the last one of a path."""
    shape: type[BaseModel] = FileShape
    for part in path[:-1]:
        if isinstance(part, str) and part in shape.model_fields:
            inner = shape.model_fields[part].annotation
            while get_args(inner):
                inner = next(a for a in reversed(get_args(inner)) if a is not type(None))
            shape = inner if isinstance(inner, type) and issubclass(inner, BaseModel) else shape
    return keys(shape)


def keys(shape: type[BaseModel]) -> list[str]:
    """The keys of a table, as they are written in the fleet file."""
    return [field.alias or name for name, field in shape.model_fields.items()]


def _suggestion(path: Path) -> list[str]:
    return difflib.get_close_matches(str(path[-1]), _fields(path), n=1, cutoff=0.6)


def _sentence(error: ErrorDetails) -> str:
    path, kind, value = error["loc"], error["type"], error.get("input")
    if kind in _PLAIN:
        return _PLAIN[kind]
    if kind == "extra_forbidden":
        return "is not a setting here." + nearest(str(path[-1]), _fields(path))
    if kind == "literal_error":
        return f"must be one of {', '.join(get_args_of(path))} (found {value!r})."
    if kind == "greater_than":
        return f"must be more than {error['ctx']['gt']:g} (found {value!r})."
    if kind == "model_type" and len(path) >= 2 and path[-2] == "tags" and path[-1] in ROLES:
        return f'must be a table, written like {{ tag = {value!r}, unit = "..." }}.'.replace("'", '"')
    return f"must be {_WORDS.get(kind, error['msg'])} (found {value!r})."


def get_args_of(path: Path) -> tuple[str, ...]:
    """The words that a key of one of the shapes allows."""
    shape = VesselShape if path[0] == "vessel" else FleetShape
    return get_args(shape.model_fields[str(path[-1])].annotation)
