"""The fleet file: TOML → frozen Fleet, Vessel, Work; all its faults in one list."""

import difflib
import functools
import re
import sys
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import pandas as pd

from sevenppb.detect import fleet_shape, fleet_text, units
from sevenppb.detect.causes import CAUSES
from sevenppb.detect.errors import FleetFault
from sevenppb.detect.fleet_shape import Dates
from sevenppb.detect.fleet_text import Part
from sevenppb.detect.fleet_values import Baseline, Page
from sevenppb.detect.roles import REQUIRED, ROLES

# limits that are of no single role → their quantity
_FEATURE_LIMITS = {"subcooling": "temperature difference"}


@dataclass(frozen=True, slots=True)
class TagRef:
    """Where a role's readings are: the tag's name in the exports, and its unit (None: the export must
    say)."""

    tag: str
    unit: str | None


@dataclass(frozen=True, slots=True)
class Work:
    """Work done on a vessel: later readings get a fresh baseline for what it resets (sprays | vent | trays |
    steam-supply | air-in-leakage | insulation | sensor:<role> | all). `date` is UTC: the time named, or the
    start of the day named, in the fleet's timezone."""

    date: pd.Timestamp
    what: str
    resets: tuple[str, ...]

    @property
    def day(self) -> pd.Timestamp:
        """The UTC day that the plant's day of the work mostly is."""
        return self.date.round("D")


@dataclass(frozen=True, slots=True)
class Vessel:
    """One deaerator. `capacity` kg/s, `barometer` Pa, `vent_bore` m, `limits` role or feature → value in the
    inside unit (ppb, K). `exports` are absolute glob patterns or addresses (file://, s3://, gs://). `baseline` is
    the length from the first reading on, or two instants in UTC: the start of the first day and the end of the
    last. `dates` is the order of day and month where the exports don't tell it."""

    id: str
    exports: tuple[str, ...]
    layout: Literal["auto", "wide", "long"]
    tags: dict[str, TagRef]
    capacity: float | None
    baseline: Baseline
    barometer: float
    vent_bore: float | None
    limits: dict[str, float]
    work: tuple[Work, ...]
    dates: Dates = "auto"


@dataclass(frozen=True)
class Cost:
    """Money: `steam` per tonne, in `currency`."""

    steam: float
    currency: str


@dataclass(frozen=True)
class Fleet:
    """The fleet file, validated. `baseline` and `dates` of the fleet are already laid onto the vessels that name none.
    `register` is the file that incidents are kept in; None: in the folder of the scan."""

    name: str
    path: Path
    timezone: str
    display: Literal["si", "us"]
    cost: Cost | None
    vessels: tuple[Vessel, ...]
    register: Path | None = None


def reading_quantity(role: str) -> str:
    """The quantity by which `units` reads a role's unit: the table's, but the barometer's bare units are
    absolute, and steam has no density to turn a volume into a mass with."""
    if role == "barometric_pressure":
        return "barometer"
    if role in ("steam_flow", "vent_flow"):
        return "steam flow"
    return ROLES[role].quantity


def read_fleet(path: Path) -> Fleet:
    """The fleet file, checked. Raises FleetFault with every fault, a sentence each with file, line and
    remedy."""
    try:
        text = path.read_text(encoding="utf-8-sig")  # editors that begin a file with a mark are common
    except OSError as error:
        raise FleetFault(
            [f"{path}: can't be read ({error.strerror}). Name an existing fleet file."]
        ) from None
    except UnicodeDecodeError:
        raise FleetFault([f"{path}: is not UTF-8 text. Save the fleet file as UTF-8."]) from None
    try:
        return _fleet(path, fleet_text.parts(text))
    except fleet_text.NotInParts:
        pass
    try:
        return _fleet(path, [fleet_text.whole(text)])
    except tomllib.TOMLDecodeError as error:
        raise FleetFault([_not_toml(path, text, str(error))]) from None


def _not_toml(path: Path, text: str, message: str) -> str:
    at = re.search(r" ?\(at (?:line (\d+), column \d+|end of document)\)", message)
    line = at[1] if at and at[1] else str(text.count("\n") + 1)
    reason = message.replace(at[0], "") if at else message
    return (
        f"{path}:{line}: is not valid TOML: {reason}. "
        "Look for a missing quote, bracket or equals sign, or a day that no month has."
    )


def _fleet(path: Path, parts: Iterable[Part]) -> Fleet:
    page, ids = Page(path), dict[str, int]()
    vessels: list[Vessel] = []
    for part in parts:
        document = page.turn(part)
        if not part.before:  # the fleet's own tables are the same in every part
            head = _table(document.get("fleet"))
            page.timezone = page.zone(head.get("timezone", "UTC"))
            baseline = page.baseline(("fleet", "baseline"), head.get("baseline"))
            register = page.beneath(("fleet", "register"), head.get("register"))
        listed = document.get("vessel")
        for i, row in enumerate(map(_table, listed) if isinstance(listed, list) else ()):
            _check_id(page, ("vessel", i, "id"), row.get("id"), ids)
            described = {"dates": head.get("dates", "auto"), **row}
            vessels.append(_vessel(page, ("vessel", i), described, baseline))
    if page.faults:
        raise FleetFault(page.faults)
    cost = Cost(float(head["cost"]["steam"]), head["cost"]["currency"]) if "cost" in head else None
    display = head.get("display", "si")
    return Fleet(head["name"], path, page.timezone, display, cost, tuple(vessels), register)


def _check_id(page: Page, where: fleet_shape.Path, name: Any, ids: dict[str, int]) -> None:
    """`ids` are those so far, in lower case, with their lines."""
    if not isinstance(name, str) or not name:
        return
    if not re.fullmatch(r"\w[\w .+-]*", name):
        page.fault(where, "may hold letters, digits, blanks and . _ + - only: files are named after it.")
    if name.casefold() in ids:
        line = ids[name.casefold()]
        page.fault(where, f"this id is already used in line {line}. Give each vessel its own.")
    ids.setdefault(name.casefold(), page.line(where))


def _vessel(page: Page, where: fleet_shape.Path, row: dict[str, Any], baseline: Baseline) -> Vessel:
    barometer = page.amount((*where, "barometer"), row.get("barometer"), "barometer")
    air = ROLES["barometric_pressure"]
    if barometer is not None and not air.low <= barometer <= air.high:
        told = f"{row['barometer']} is no air pressure on land: it is 60 to 110 kPa."
        page.fault((*where, "barometer"), f"{told} Correct it or leave it out.")
    barometer = units.STANDARD_ATMOSPHERE if barometer is None else barometer
    own = page.baseline((*where, "baseline"), row.get("baseline"))
    work = [
        _work(page, (*where, "work", i), _table(entry))
        for i, entry in enumerate(_listed(row.get("work"), dict))
    ]
    return Vessel(
        id=str(row.get("id")),
        exports=tuple(_address(page.path, pattern) for pattern in _listed(row.get("exports"), str)),
        layout=row.get("layout", "auto"),
        tags=_tags(page, (*where, "tags"), row.get("tags")),
        capacity=page.size((*where, "capacity"), row.get("capacity"), "flow"),
        baseline=baseline if own is None else own,
        barometer=barometer,
        vent_bore=page.size((*where, "vent_bore"), row.get("vent_bore"), "length"),
        limits=_limits(page, (*where, "limits"), _table(row.get("limits")), barometer),
        work=tuple(w for w in work if w is not None),
        dates=row["dates"],
    )


def _address(path: Path, pattern: str) -> str:
    return pattern if "://" in pattern else str(path.resolve().parent / pattern)


def _tags(page: Page, where: fleet_shape.Path, table: Any) -> dict[str, TagRef]:
    tags: dict[str, TagRef] = {}
    if not isinstance(table, dict):
        return tags
    used: dict[str, str] = {}
    for role, entry in table.items():
        here = (*where, role)
        if role not in ROLES:
            page.fault(here, f'"{role}" is no role.{fleet_shape.nearest(role, ROLES)}')
            continue
        tag, unit = _table(entry).get("tag"), _table(entry).get("unit")
        if isinstance(unit, str):
            page.checked(here, functools.partial(units.resolve, unit, reading_quantity(role)))
        if isinstance(tag, str):
            if tag in used:
                page.fault(here, f'tag "{tag}" already stands for {used[tag]}. Give each role its own tag.')
            used[tag] = role
            # roles and units stand in every vessel: held once, not once a vessel
            tags[sys.intern(role)] = TagRef(tag, sys.intern(unit) if isinstance(unit, str) else None)
    unknown = [role for role in table if role not in ROLES]
    for role in REQUIRED:
        if role not in table and not difflib.get_close_matches(role, unknown, n=1, cutoff=0.6):
            example = f'{role} = {{ tag = "...", unit = "..." }}'
            page.fault(where, f"{role} is needed but not there. Add {example}.")
    return tags


def _limits(page: Page, where: fleet_shape.Path, table: dict[str, Any], barometer: float) -> dict[str, float]:
    known = {**_FEATURE_LIMITS, **{role: reading_quantity(role) for role in ROLES}}
    limits: dict[str, float] = {}
    for name, text in table.items():
        if name not in known:
            page.fault((*where, name), f'"{name}" can have no limit.{fleet_shape.nearest(name, known)}')
        elif (value := page.amount((*where, name), text, known[name], barometer)) is not None:
            limits[name] = value
    return limits


def _work(page: Page, where: fleet_shape.Path, row: dict[str, Any]) -> Work | None:
    known = {cause.resets for cause in CAUSES.values() if cause.resets} | {"all"}
    resets = _listed(row.get("resets"), str)
    here = (*where, "resets")
    for word in resets:
        sensor = word.removeprefix("sensor:")
        if sensor != word and sensor not in ROLES:
            page.fault(here, f'"{sensor}" is no role.{fleet_shape.nearest(sensor, ROLES)}')
        elif sensor == word and word not in known:
            hint = fleet_shape.nearest(word, {*known, "sensor:<role>"})
            page.fault(here, f'"{word}" is nothing that work resets.{hint}')
    date = page.instant((*where, "date"), row.get("date"))
    return None if date is None else Work(date, str(row.get("what")), tuple(resets))


def _table(value: Any) -> dict[str, Any]:
    return value if isinstance(value, dict) else {}


def _listed(value: Any, kind: type) -> list[Any]:
    return [v for v in value if isinstance(v, kind)] if isinstance(value, list) else []
