"""Exports → a drafted fleet file for a person to correct: every guess with its reason beside it, and what is
doubtful commented out."""

import glob
import math
import os
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from sevenppb.detect import units
from sevenppb.detect.exports import alike, day_order, engine, files, guess, looks, sanity, together, vessels
from sevenppb.detect.exports.guess import Guess, Seen
from sevenppb.detect.exports.looks import Looked
from sevenppb.detect.exports.together import Evidence
from sevenppb.detect.fleet import reading_quantity
from sevenppb.detect.roles import REQUIRED, ROLES

_SHOWN = 20  # tags without a role
_SYSTEMS = ("temperature", "pressure", "difference", "flow")  # quantities whose unit tells a site's system
_MANY = 4  # exports, from which on a pattern is shorter


@dataclass(frozen=True)
class Line:
    """One drafted role: commented out where `doubt` says why."""

    role: str
    seen: Seen
    unit: str | None
    reasons: tuple[str, ...]
    doubt: str | None


def draft(paths: Sequence[Path], folder: Path = Path()) -> str:
    """The text of a fleet file to be stored in `folder`, with guessed vessels, roles and units.

    Raises VesselFault or ExportFault where an export can't be read."""
    with engine.start() as running:
        found = files.find(None, tuple(str(p) for p in paths), running.folder)
        folders = {
            str(path): {file.shown for file in files.find(None, (str(path),), running.folder)}
            for path in paths
            if path.is_dir()
        }
        opened = day_order.by_calendar(alike.opened(running, found, (), "auto"), running)
        looked = [looks.look(running, source) for source in opened]
    seen: dict[str, Seen] = {}
    homes: dict[str, list[Looked]] = {}
    for look in looked:
        for tag in look.tags:
            seen.setdefault(tag.tag, guess.unit_by_name(tag))
            homes.setdefault(tag.tag, []).append(look)
    files_of = {tag: [home for look in those for home in look.homes] for tag, those in homes.items()}
    groups = vessels.grouped(list(seen.values()), files_of)
    sharing = Counter(tag.tag for group in groups.values() for tag in group)
    blocks, told = [], []
    for name, group in sorted(groups.items()):
        tags = vessels.own_names(group)
        own = [tag for tag in tags if sharing[tag.tag] == 1]  # what vessels share adds no other's files
        used = [look for look in looked if any(look in homes[tag.tag] for tag in own)]
        lines = _lines(tags)
        told += [line.unit for line in lines if line.unit and ROLES[line.role].quantity in _SYSTEMS]
        blocks.append(_vessel(name, used, folders, folder, tags, lines))
    display = "us" if told and all(units.is_customary(unit) for unit in told) else "si"
    return "\n".join([_head(all(look.zoned for look in looked), display), *blocks])


def _dates(used: list[Looked]) -> list[str]:
    """The line on the order of day and month, where a later export may need it or these do."""
    orders = {look.orders[0] for look in used if len(look.orders) == 1} - {None}
    if len(orders) == 1:
        return [
            f'dates = "{orders.pop()}"  # told by these exports, for others that hold no day after the 12th'
        ]
    if any(len(look.orders) > 1 for look in used):
        return [
            '# dates = "day first"  # or "month first": the exports can be read both ways, so write which'
        ]
    return []


def _patterns(homes: list[str], folder: Path) -> list[str]:
    """The files, or where they are many one pattern that names them and no other."""
    if len(homes) < _MANY or any("://" in home for home in homes):
        return homes
    start = vessels.common_start(homes)
    end = vessels.common_start([home[len(start) :][::-1] for home in homes])[::-1]
    pattern = f"{glob.escape(start)}*{glob.escape(end)}"
    named = {Path(p).as_posix() for p in glob.glob(pattern, root_dir=folder)}
    return [pattern] if named == set(homes) else homes


def _relative(home: str, folder: Path) -> str:
    return Path(os.path.relpath(home, folder)).as_posix() if "://" not in home else home


def _head(zoned: bool, display: str) -> str:
    zone = (
        "the exports' times say their zone"
        if zoned
        else "the exports' times carry no zone: write the site's, such as Europe/Oslo"
    )
    return (
        "# Drafted from the exports. Every line is a guess: read each reason, correct it, and remove the # "
        "where a\n"
        "# doubtful one is right. Then run: sevenppb check\n"
        f'[fleet]\nname = "My plant"\ntimezone = "UTC"  # {zone}\n'
        f'display = "{display}"  # or "{"us" if display == "si" else "si"}": units in reports\n'
    )


def _vessel(
    name: str,
    used: list[Looked],
    folders: dict[str, set[str]],
    folder: Path,
    tags: list[Seen],
    lines: list[Line],
) -> str:
    homes = {home for look in used for home in look.homes}
    whole = [path for path, inside in folders.items() if inside and inside <= homes]
    alone = homes.difference(*(folders[path] for path in whole))
    exports = [_relative(path, folder) for path in whole]
    exports += _patterns(sorted(_relative(home, folder) for home in alone), folder)
    rows = [
        "[[vessel]]",
        f'id = "{name}"',
        f"exports = [{', '.join(_text(e) for e in exports)}]",
        *_dates(used),
        "[vessel.tags]",
    ]
    for line in lines:
        unit = f", unit = {_text(line.unit)}" if line.unit else ""
        entry = f"{line.role} = {{ tag = {_text(line.seen.tag)}{unit} }}"
        reason = "; ".join(line.reasons)
        told = reason if line.doubt is None else f"doubtful: {line.doubt} ({reason})"
        rows.append(f"{'' if line.doubt is None else '# '}{entry}  # {_comment(told)}")
    taken = {line.seen.tag for line in lines}
    for role in REQUIRED:
        if not any(line.role == role for line in lines):
            could = ", ".join(t.tag for t in tags if guess.quantity_of(t) == ROLES[role].quantity)
            told = f"no tag could be told for it{f', but it could be {could}' if could else ''}"
            rows.append(f'# {role} = {{ tag = "...", unit = "..." }}  # needed: {_comment(told)}')
    if bare := sorted(t.tag for t in tags if not math.isfinite(t.middle)):
        rows.append(f"# without any number: {_comment(', '.join(bare[:_SHOWN]))}")
    if rest := sorted(_told(t) for t in tags if t.tag not in {*taken, *bare}):
        rows += [f"# no role guessed for: {_comment(text)}" for text in rest[:_SHOWN]]
        if len(rest) > _SHOWN:
            rows.append(f"# no role guessed for {len(rest) - _SHOWN} more tags")
    return "\n".join(rows) + "\n"


def _told(tag: Seen) -> str:
    """What helps a person to see what a tag is."""
    name = f"{tag.tag} ({tag.description})" if tag.description else tag.tag
    if quantity := guess.quantity_of(tag):
        name += f": {quantity}"
    return f"{name}, {tag.low:.4g} to {tag.high:.4g}{f' {tag.unit}' if tag.unit else ', no unit'}"


def _comment(text: str) -> str:
    """A text that may stand in a TOML comment."""
    return "".join(c if c.isprintable() else " " for c in text)


def _text(text: str) -> str:
    """A TOML string."""
    escaped = "".join(c if c >= " " and c not in '"\\' else f"\\u{ord(c):04x}" for c in text)
    return f'"{escaped}"'


def _lines(tags: list[Seen]) -> list[Line]:
    """Each tag's best role in the table's order; of several tags for one role the best is taken, the others
    doubted."""
    moves = together.evidence(tags)
    ranked = {tag.tag: guess.guesses(tag, _best(moves.get(tag.tag, []))) for tag in tags}
    claims: dict[str, list[tuple[Guess, Seen]]] = {}
    for tag in tags:
        for found in ranked[tag.tag][:1]:
            claims.setdefault(found.role, []).append((found, tag))
    lines = []
    for role in ROLES:
        for place, (found, tag) in enumerate(sorted(claims.get(role, []), key=lambda c: -c[0].score)):
            rivals = claims[role]
            others = ranked[tag.tag]
            elsewhere = [e for e in moves.get(tag.tag, []) if e.unit and e.role != found.role]
            doubt = None
            if place > 0:
                doubt = f"{rivals[0][1].tag} fits {role} better"
            elif len(rivals) > 1 and sorted(g.score for g, _ in rivals)[-2] > found.score - guess.CLEAR:
                doubt = f"another tag fits {role} as well"
            elif found.score < guess.SURE:
                doubt = "little speaks for it"
            elif len(others) > 1 and others[1].score > found.score - guess.CLEAR:
                doubt = f"it could be {others[1].role} as well"
            elif elsewhere:
                doubt = f"as {elsewhere[0].role} it {elsewhere[0].reason}"
            lines.append(Line(role, tag, tag.unit, found.reasons, doubt))
    told = {(tag, e.role): e.unit for tag, found in moves.items() for e in found}
    return [_with_unit(line, lines, told.get((line.seen.tag, line.role))) for line in lines]


def _best(found: list[Evidence]) -> dict[str, tuple[float, str]]:
    """The strongest evidence for each role."""
    return {e.role: (e.score, e.reason) for e in sorted(found, key=lambda e: e.score)}


def _with_unit(line: Line, lines: list[Line], boils: str | None) -> Line:
    """The line with its unit settled: a pressure's gauge or abs by saturation, or a doubt. `boils` is the unit in which
    it fits boiling water."""
    quantity = reading_quantity(line.role)
    if line.seen.unit is None:
        values = f"no unit in the export, values from {line.seen.low:.4g} to {line.seen.high:.4g}"
        doubt = f"{values}; {boils} fits boiling water" if boils else f"{values}: add it"
        return Line(line.role, line.seen, boils, line.reasons, line.doubt or doubt)
    ways = guess.in_units(line.seen.unit, quantity)
    if len(ways) == 1:
        return Line(line.role, line.seen, ways[0], line.reasons, line.doubt)
    if boils in ways:
        reason = f"{boils.rpartition(' ')[2]} because it fits saturation"
        return Line(line.role, line.seen, boils, (*line.reasons, reason), line.doubt)
    if line.role == "shell_pressure":
        storage = next((o for o in lines if o.role == "storage_temperature" and o.doubt is None), None)
        if storage and storage.seen.unit:
            fits = sanity.likely(
                pd.Series([line.seen.middle]),
                pd.Series([storage.seen.middle]),
                ways,
                (storage.seen.unit,),
                101325.0,
            )
            if fits:
                reason = f"{fits[0].rpartition(' ')[2]} because it fits saturation at {storage.seen.tag}"
                return Line(line.role, line.seen, fits[0], (*line.reasons, reason), line.doubt)
    doubt = line.doubt or f'"{line.seen.unit}": gauge or abs?'
    return Line(line.role, line.seen, ways[0] if ways else line.seen.unit, line.reasons, doubt)
