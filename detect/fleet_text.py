"""The fleet file's text: its parts, one vessel each, and on which line of it each key stands.

All vessels as one document, with all that TOML's reader and the shapes' checks note beside it, would take thirty times
the room of the text.
"""

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from sevenppb.detect.fleet_shape import Path

_VESSEL = re.compile(r"^[ \t]*\[\[[ \t]*vessel[ \t]*\]\]", re.MULTILINE)


@dataclass(frozen=True)
class Part:
    """What the fleet's own tables say, and one vessel's, as if the file had no other: the document, the file's line of
    each key, and how many vessels stand before."""

    document: dict[str, Any]
    lines: dict[Path, int]
    before: int = 0


class NotInParts(Exception):
    """The file isn't TOML, or its vessels don't stand one after the other behind the fleet's own tables."""


def whole(text: str) -> Part:
    """The file as one part with all its vessels. Raises tomllib.TOMLDecodeError."""
    return Part(tomllib.loads(text), lines(text))


def parts(text: str) -> Iterator[Part]:
    """A part for each vessel, at least one; together they say what the whole says. Raises NotInParts, at any of
    them."""
    starts = [match.start() for match in _VESSEL.finditer(text)]
    head = text[: starts[0]] if starts else text
    own = _loaded(head)
    if not starts:
        yield Part(own, lines(head))
        return
    if "vessel" in own:
        raise NotInParts
    above, passed = lines(head), len(head.splitlines())
    for before, (start, end) in enumerate(zip(starts, [*starts[1:], len(text)], strict=True)):
        block = text[start:end]
        vessel = _loaded(block)
        if vessel.keys() != {"vessel"} or len(vessel["vessel"]) != 1:
            raise NotInParts
        below = {path: passed + line for path, line in lines(block).items() if path}
        yield Part(own | vessel, above | below, before)
        passed += len(block.splitlines())


def _loaded(text: str) -> dict[str, Any]:
    """A text cut within a value is no TOML on either side of the cut."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        raise NotInParts from None


def lines(text: str) -> dict[Path, int]:
    """Where each key of a TOML text stands: its path (arrays of tables by number) → line, counted from 1."""
    found: dict[Path, int] = {(): 1}
    here: Path = ()
    counts: dict[Path, int] = {}
    for number, line in enumerate(text.splitlines(), 1):
        if header := re.match(r"\s*\[(\[)?\s*([^\[\]]+?)\s*\]\]?\s*(#.*)?$", line):
            here = ()
            parts = _split(header[2])
            for i, part in enumerate(parts):
                here = (*here, part)
                if i == len(parts) - 1 and header[1]:
                    counts[here] = counts.get(here, -1) + 1
                if here in counts:
                    here = (*here, counts[here])
            found.setdefault(here[:-1] if header[1] else here, number)
            found[here] = number
        elif pair := re.match(r'\s*((?:"[^"]*"|\'[^\']*\'|[\w.-])+)\s*=', line):
            found[(*here, *_split(pair[1]))] = number
    return found


def _split(dotted: str) -> list[str]:
    return [a or b or c for a, b, c in re.findall(r"\"([^\"]*)\"|'([^']*)'|([\w-]+)", dotted)]


def line_of(path: Path, found: dict[Path, int]) -> int:
    """The line of a path, or of the nearest table around it."""
    while path and path not in found:
        path = path[:-1]
    return found[path]
