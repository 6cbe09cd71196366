"""Which tags of unknown exports belong to which vessel: by the deaerator's number in names and descriptions, else by
what parts the tags into groups that are alike but for their numbers."""

import itertools
import os
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from sevenppb.detect.exports.guess import Seen, point

_ALIKE = 3  # tags that two vessels have in common but for their numbers; fewer tell nothing
_ALIKE_SHARE = 0.5  # of the smaller vessel's tags
_COUNTED = re.compile(r"\d+(?:[-_ ]?[A-Z](?=[._:/\\|]))?")
_RANDOM = re.compile(
    r"(?i)[0-9a-f]{8}(?:-?[0-9a-f]{4}){3}-?[0-9a-f]{12}"
)  # as files of a folder are often named


def grouped(tags: Sequence[Seen], homes: Mapping[str, Sequence[str]]) -> dict[str, list[Seen]]:
    """The tags by vessel, each vessel by its name; `homes` are the files that hold a tag. A site's tag that stands in
    several vessels' files is of each."""
    groups: dict[str, list[Seen]] = {}
    unnamed = []
    for tag in tags:
        files = [os.path.basename(home) for home in homes[tag.tag]]
        if number := vessel_number([tag.tag, tag.description, *sorted(set(files))]):
            groups.setdefault(f"DA-{number}", []).append(tag)
        else:
            unnamed.append(tag)
    for name, some in _parted(unnamed, homes).items():
        groups.setdefault(name, []).extend(some)
    return groups


def vessel_number(texts: Sequence[str | None]) -> str | None:
    """The vessel that a tag's name or description names: "DA1", "D-2", "deaerator 3"."""
    for text in texts:
        if found := re.search(
            r"(?i)(?<![a-z0-9])(?:da|dea|deaerator|d)[\s_#-]{0,2}0*(\d{1,3})(?!\d)",
            _RANDOM.sub("", text or ""),
        ):
            return found[1]
    return None


def own_names(tags: Sequence[Seen]) -> list[Seen]:
    """A vessel's tags with their names less what all begin with: that names the plant or the vessel, and no role."""
    start = common_start([tag.tag for tag in tags]) if len(tags) >= _ALIKE else ""
    if not all(re.match(r"[A-Z]{2,4}[-_ ]?\d", tag.tag[len(start) :]) for tag in tags):
        start = start[: max(start.rfind(mark) for mark in " ._:/\\-|") + 1]
    return [replace(tag, own=tag.tag[len(start) :]) for tag in tags]


def common_start(texts: Sequence[str]) -> str:
    """The letters with which all begin."""
    same = itertools.takewhile(lambda letters: len(set(letters)) == 1, zip(*texts, strict=False))
    return "".join(letters[0] for letters in same)


def _parted(tags: Sequence[Seen], homes: Mapping[str, Sequence[str]]) -> dict[str, list[Seen]]:
    """Tags that name no deaerator: parted by the number that their names begin with, and a letter behind it where there
    are such, else by their files, where the parts are alike; else one vessel."""
    for name in (_beginning_with_letter, _beginning, lambda tag: _file(homes[tag.tag])):
        parts = _by(tags, name)
        large = [part for part in parts.values() if len(part) >= _ALIKE]
        if len(large) > 1 and all(_alike(one, other) for one, other in itertools.combinations(large, 2)):
            few = [tag for part in parts.values() if len(part) < _ALIKE for tag in part]
            files = [{home for tag in part for home in homes[tag.tag]} for part in large]
            for tag in few:
                for k in _places(set(homes[tag.tag]), files):
                    large[k].append(tag)
            return {name: part for name, part in parts.items() if len(part) >= _ALIKE}
    return {"DA-1": list(tags)} if tags else {}


def _places(home: set[str], files: Sequence[set[str]]) -> list[int]:
    """The parts to which a tag of none belongs: those in whose files it stands, where no part has all of its files;
    else the first."""
    found = [k for k, of_part in enumerate(files) if of_part & home]
    return found if found and not any(home <= of_part for of_part in files) else [0]


def _by(tags: Sequence[Seen], name: Callable[[Seen], str]) -> dict[str, list[Seen]]:
    parts: dict[str, list[Seen]] = {}
    for tag in tags:
        parts.setdefault(name(tag), []).append(tag)
    return parts


def _beginning(tag: Seen) -> str:
    """A tag up to its first number, if a name follows it (KV1/Level → KV1)."""
    found = re.match(r"(\D*\d+)(?=.*[A-Za-z])", point(tag.tag)[0])
    return _id(found[1]) if found else ""


def _beginning_with_letter(tag: Seen) -> str:
    """A tag up to a letter that counts on behind its first number, as a part of its own (K1-A.PT101 → K1-A)."""
    found = re.match(r"(\D*\d+[-_ ]?[A-Z])[._:/\\|](?=.*[A-Za-z])", point(tag.tag)[0])
    return _id(found[1]) if found else ""


def _file(homes: Sequence[str]) -> str:
    """What the names of a tag's files have in common, which ends at no number's middle (K1-2024, K1-2025 → K1)."""
    names = [os.path.basename(home).partition(".")[0] for home in homes]
    start = common_start(names)
    if start[-1:].isdigit() and any(name[len(start) : len(start) + 1].isdigit() for name in names):
        start = start.rstrip("0123456789")
    return _id(start)


def _id(text: str) -> str:
    """A text as a vessel's id."""
    plain = re.sub(r"[^A-Za-z0-9._+-]+", "-", text).strip("-_.")
    return f"DA-{plain}" if plain.isdigit() or not plain else plain


def _alike(one: Sequence[Seen], other: Sequence[Seen]) -> bool:
    """Whether two parts hold the same tags but for numbers, and letters that count on behind one."""
    mine, others = ({_COUNTED.sub("", tag.tag) for tag in part} for part in (one, other))
    return len(mine & others) >= max(_ALIKE, _ALIKE_SHARE * min(len(mine), len(others)))
