"""Exports → a drafted fleet file for a person to correct: every guess with its reason beside it, and what is
doubtful commented out."""

import glob
import itertools
import math
import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import duckdb
import pandas as pd

from sevenppb.detect.errors import ExportFault
from sevenppb.detect.exports import alike, day_order, engine, files, guess, load, sanity, sources
from sevenppb.detect.exports.guess import Guess, Seen
from sevenppb.detect.exports.timestamps import Order
from sevenppb.detect.fleet import reading_quantity
from sevenppb.detect.roles import REQUIRED, ROLES

_USUAL_PRESSURES = ("kPa gauge", "kPa abs", "psi gauge", "psi abs", "bar gauge", "bar abs")
_MANY = 4  # exports, from which on a pattern is shorter
_BATCH = 200  # tags looked at in one query


@dataclass(frozen=True)
class Line:
    """One drafted role: commented out where `doubt` says why."""

    role: str
    seen: Seen
    unit: str | None
    reasons: tuple[str, ...]
    doubt: str | None


@dataclass(frozen=True)
class _Looked:
    """What was seen of some exports of one shape: their tags, how they are named, whether their times carry a zone,
    and the orders of day and month that their dates can have."""

    tags: list[Seen]
    homes: tuple[str, ...]
    zoned: bool
    orders: tuple[Order | None, ...]


def draft(paths: Sequence[Path], folder: Path = Path()) -> str:
    """The text of a fleet file to be stored in `folder`, with guessed vessels, roles and units.

    Raises VesselFault or ExportFault where an export can't be read."""
    with engine.start() as running:
        found = files.find("draft", tuple(str(p) for p in paths), running.folder)
        sources = day_order.by_calendar(alike.opened(running, found, (), "auto"), running)
        looked = [_look(running, source) for source in sources]
    seen: dict[str, Seen] = {}
    homes: dict[str, list[_Looked]] = {}
    for look in looked:
        for tag in look.tags:
            seen.setdefault(tag.tag, tag)
            homes.setdefault(tag.tag, []).append(look)
    groups: dict[str, list[Seen]] = {}
    for tag in seen.values():
        files_of = sorted({os.path.basename(home) for look in homes[tag.tag] for home in look.homes})
        number = guess.vessel_number([tag.tag, tag.description, *files_of])
        groups.setdefault(f"DA-{number or 1}", []).append(tag)
    parts = [_head(all(look.zoned for look in looked))]
    for name, tags in sorted(groups.items()):
        used = [look for look in looked if any(look in homes[tag.tag] for tag in tags)]
        parts.append(_vessel(name, used, folder, tags))
    return "\n".join(parts)


def _look(running: engine.Engine, source: load.Source) -> _Looked:
    """The tags of an export, or of several of one shape, with what it says of them."""
    names = sources.tag_names(running, source)
    if not names:
        raise ExportFault(f"{source.shown}: holds no tags. Export it again.")
    described = {c.tag: (c.unit, c.description) for c in source.form.wide}
    tags = []
    for start in range(0, len(names), _BATCH):
        batch = names[start : start + _BATCH]
        again = alike.opened(running, [file for file, _ in source.files], batch, source.form.layout)
        for i, name in enumerate(batch):
            unit = sources.unit_of(running, source, i, name)
            described_as = described.get(name, (None, None))[1]
            tags.append(Seen(name, unit, described_as, *_quantiles(running, again, i)))
    times = [form for form, _ in source.times]
    homes = tuple(file.shown for file, _ in source.files)
    return _Looked(tags, homes, all(form.zoned for form in times), tuple(form.order for form in times))


def _quantiles(
    running: engine.Engine, opened: Sequence[load.Source], position: int
) -> tuple[float, float, float]:
    values = [
        f"SELECT {value.number} AS v FROM {source.relation}"
        + (f" WHERE {source.code} = {position + 1}" if source.code else "")
        for source in opened
        if (value := source.values[position]) is not None
    ]
    if not values:
        return math.nan, math.nan, math.nan
    sql = f"SELECT quantile_cont(v, [0.05, 0.5, 0.95]) FROM ({' UNION ALL '.join(values)})"
    try:
        (row,) = running.row(f"{sql} WHERE isfinite(v)")
    except duckdb.Error:  # a column that holds no values of a tag (text, lists)
        row = None
    return tuple(row) if row else (math.nan, math.nan, math.nan)


def _dates(used: list[_Looked]) -> list[str]:
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
    start = _common_start(homes)
    end = _common_start([home[len(start) :][::-1] for home in homes])[::-1]
    pattern = f"{glob.escape(start)}*{glob.escape(end)}"
    named = {Path(p).as_posix() for p in glob.glob(pattern, root_dir=folder)}
    return [pattern] if named == set(homes) else homes


def _common_start(texts: list[str]) -> str:
    same = itertools.takewhile(lambda letters: len(set(letters)) == 1, zip(*texts, strict=False))
    return "".join(letters[0] for letters in same)


def _relative(home: str, folder: Path) -> str:
    return Path(os.path.relpath(home, folder)).as_posix() if "://" not in home else home


def _head(zoned: bool) -> str:
    zone = (
        "the exports' times say their zone"
        if zoned
        else "the exports' times carry no zone: write the site's, such as Europe/Oslo"
    )
    return (
        "# Drafted from the exports. Every line is a guess: read each reason, correct it, and remove the # "
        "where a\n"
        "# doubtful one is right. Then run: sevenppb check\n"
        f'[fleet]\nname = "My plant"\ntimezone = "UTC"  # {zone}\ndisplay = "si"\n'
    )


def _vessel(name: str, used: list[_Looked], folder: Path, tags: list[Seen]) -> str:
    lines = _lines(tags)
    homes = sorted({_relative(home, folder) for look in used for home in look.homes})
    rows = [
        "[[vessel]]",
        f'id = "{name}"',
        f"exports = [{', '.join(_text(e) for e in _patterns(homes, folder))}]",
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
        if not any(line.role == role and line.doubt is None for line in lines):
            rows.append(f'# {role} = {{ tag = "...", unit = "..." }}  # needed: no tag could be told for it')
    if rest := sorted(t.tag for t in tags if t.tag not in taken):
        shown = ", ".join(rest[:20]) + (f" and {len(rest) - 20} more" if len(rest) > 20 else "")
        rows.append(f"# no role guessed for: {_comment(shown)}")
    return "\n".join(rows) + "\n"


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
    ranked = {tag.tag: guess.guesses(tag) for tag in tags}
    claims: dict[str, list[tuple[Guess, Seen]]] = {}
    for tag in tags:
        for found in ranked[tag.tag][:1]:
            claims.setdefault(found.role, []).append((found, tag))
    lines = []
    for role in ROLES:
        for place, (found, tag) in enumerate(sorted(claims.get(role, []), key=lambda c: -c[0].score)):
            rivals = claims[role]
            others = ranked[tag.tag]
            doubt = None
            if place > 0:
                doubt = f"{rivals[0][1].tag} fits {role} better"
            elif len(rivals) > 1 and sorted(g.score for g, _ in rivals)[-2] > found.score - guess.CLEAR:
                doubt = f"another tag fits {role} as well"
            elif found.score < guess.SURE:
                doubt = "little speaks for it"
            elif len(others) > 1 and others[1].score > found.score - guess.CLEAR:
                doubt = f"it could be {others[1].role} as well"
            lines.append(Line(role, tag, tag.unit, found.reasons, doubt))
    drafted = [_with_unit(line, lines) for line in lines]
    told = {line.role for line in drafted if line.doubt is None}
    return (
        drafted if set(REQUIRED) <= told else [*drafted, *_boiling(tags, {line.seen.tag for line in drafted})]
    )


def _boiling(tags: list[Seen], taken: set[str]) -> list[Line]:
    """A pressure and a temperature that nothing names, but whose values are those of boiling water: doubtful
    lines."""
    free = [t for t in tags if t.tag not in taken and math.isfinite(t.middle)]
    fits = []
    for p in free:
        for t in free:
            if guess.says(p, "pressure") and guess.says(t, "temperature"):
                series = [pd.Series([s.low, s.middle, s.high]) for s in (p, t)]
                if found := sanity.likely(series[0], series[1], _USUAL_PRESSURES, ("degC", "degF"), 101325.0):
                    fits.append((p, t, found))
    if len(fits) != 1:
        return []
    p, t, (p_unit, t_unit) = fits[0]
    doubt = "no name or unit says so, but both fit boiling water"
    return [
        Line(REQUIRED[0], p, p_unit, (f"with {t.tag}",), doubt),
        Line(REQUIRED[1], t, t_unit, (f"with {p.tag}",), doubt),
    ]


def _with_unit(line: Line, lines: list[Line]) -> Line:
    """The line with its unit settled: a pressure's gauge or abs by saturation, or a doubt."""
    quantity = reading_quantity(line.role)
    if line.seen.unit is None:
        reasons, doubt = line.reasons, line.doubt or "no unit in the export: add it"
        return Line(line.role, line.seen, None, reasons, doubt)
    ways = guess.in_units(line.seen.unit, quantity)
    if len(ways) == 1:
        return Line(line.role, line.seen, ways[0], line.reasons, line.doubt)
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
