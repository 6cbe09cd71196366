"""The fleet file: TOML → frozen Fleet, Vessel, Work; all its faults in one list."""

import datetime
import difflib
import re
import tomllib
import zoneinfo
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import pandas as pd

from sevenppb.detect import fleet_shape, units
from sevenppb.detect.causes import CAUSES
from sevenppb.detect.errors import FleetFault, UnitFault
from sevenppb.detect.roles import REQUIRED, ROLES

# limits that are of no single role → their quantity
_FEATURE_LIMITS = {"subcooling": "temperature difference"}


@dataclass(frozen=True)
class TagRef:
    """Where a role's readings are: the tag's name in the exports, and its unit (None: the export must
    say)."""

    tag: str
    unit: str | None


@dataclass(frozen=True)
class Work:
    """Work done on a vessel: later readings get a fresh baseline for what it resets (sprays | vent | trays |
    steam-supply | air-in-leakage | insulation | sensor:<role> | all). `date` is UTC: the time named, or the
    start of the day named, in the fleet's timezone."""

    date: pd.Timestamp
    what: str
    resets: tuple[str, ...]


@dataclass(frozen=True)
class Vessel:
    """One deaerator. `capacity` kg/s, `barometer` Pa, `vent_bore` m, `limits` role or feature → value in the
    inside unit (ppb, K). `exports` are absolute glob patterns or fsspec addresses. `baseline` is the length
    from the first reading on, or two instants in UTC: the start of the first day and the end of the last."""

    id: str
    exports: tuple[str, ...]
    layout: Literal["auto", "wide", "long"]
    tags: dict[str, TagRef]
    capacity: float | None
    baseline: tuple[pd.Timestamp, pd.Timestamp] | pd.Timedelta | None
    barometer: float
    vent_bore: float | None
    limits: dict[str, float]
    work: tuple[Work, ...]


@dataclass(frozen=True)
class Cost:
    """Money: `steam` per tonne, in `currency`."""

    steam: float
    currency: str


@dataclass(frozen=True)
class Fleet:
    """The fleet file, validated. `baseline` of the fleet is already laid onto the vessels that name none."""

    name: str
    path: Path
    timezone: str
    display: Literal["si", "us"]
    cost: Cost | None
    vessels: tuple[Vessel, ...]


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
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise FleetFault([_not_toml(path, text, str(error))]) from None
    return _Reader(path, document, fleet_shape.lines(text)).read()


def _not_toml(path: Path, text: str, message: str) -> str:
    at = re.search(r" ?\(at (?:line (\d+), column \d+|end of document)\)", message)
    line = at[1] if at and at[1] else str(text.count("\n") + 1)
    reason = message.replace(at[0], "") if at else message
    return f"{path}:{line}: is not valid TOML: {reason}. Look for a missing quote, bracket or equals sign, or a day that no month has."


class _Reader:
    """Turns the document into records and gathers faults on the way, so that a user sees all of them at once.
    Values of the wrong type are passed over: their fault is already told by the shape."""

    def __init__(self, path: Path, document: dict[str, Any], lines: dict[fleet_shape.Path, int]) -> None:
        self.path, self.document, self.lines = path, document, lines
        self.faults: list[tuple[int, str]] = []
        self.timezone = "UTC"

    def read(self) -> Fleet:
        for where, sentence in fleet_shape.shape_faults(self.document):
            self.fault(where, sentence)
        head = _table(self.document.get("fleet"))
        self.timezone = self.zone(head.get("timezone", "UTC"))
        baseline = self.baseline(("fleet", "baseline"), head.get("baseline"))
        listed = self.document.get("vessel")
        rows = [_table(v) for v in listed] if isinstance(listed, list) else []
        self.ids(rows)
        vessels = tuple(self.vessel(("vessel", i), row, baseline) for i, row in enumerate(rows))
        if self.faults:
            raise FleetFault([sentence for _, sentence in sorted(set(self.faults))])
        cost = Cost(float(head["cost"]["steam"]), head["cost"]["currency"]) if "cost" in head else None
        return Fleet(head["name"], self.path, self.timezone, head.get("display", "si"), cost, vessels)

    def fault(self, where: fleet_shape.Path, sentence: str) -> None:
        line = fleet_shape.line_of(where, self.lines)
        self.faults.append(
            (line, f"{self.path}:{line}: {fleet_shape.words(where, self.document)}: {sentence}")
        )

    def zone(self, name: Any) -> str:
        if isinstance(name, str):
            try:
                zoneinfo.ZoneInfo(name)
            except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
                near = difflib.get_close_matches(name, zoneinfo.available_timezones(), n=1)
                hint = f'Did you mean "{near[0]}"?' if near else 'Write it like "Europe/Oslo".'
                self.fault(("fleet", "timezone"), f'"{name}" is no IANA timezone. {hint}')
            else:
                return name
        return "UTC"

    def ids(self, rows: list[dict[str, Any]]) -> None:
        first: dict[str, int] = {}
        for i, row in enumerate(rows):
            name, where = row.get("id"), ("vessel", i, "id")
            if not isinstance(name, str) or not name:
                continue
            if not re.fullmatch(r"\w[\w .+-]*", name):
                self.fault(
                    where, "may hold letters, digits, blanks and . _ + - only: files are named after it."
                )
            if name.casefold() in first:
                line = fleet_shape.line_of(("vessel", first[name.casefold()], "id"), self.lines)
                self.fault(where, f"this id is already used in line {line}. Give each vessel its own.")
            first.setdefault(name.casefold(), i)

    def vessel(self, where: fleet_shape.Path, row: dict[str, Any], baseline: "Baseline") -> Vessel:
        barometer = self.amount((*where, "barometer"), row.get("barometer"), "barometer")
        if (
            barometer is not None
            and not ROLES["barometric_pressure"].low <= barometer <= ROLES["barometric_pressure"].high
        ):
            self.fault(
                (*where, "barometer"),
                f"{row['barometer']} is no air pressure on land: it is 60 to 110 kPa. Correct it or leave it out.",
            )
        barometer = units.STANDARD_ATMOSPHERE if barometer is None else barometer
        own = self.baseline((*where, "baseline"), row.get("baseline"))
        return Vessel(
            id=str(row.get("id")),
            exports=tuple(self.address(pattern) for pattern in _listed(row.get("exports"))),
            layout=row.get("layout", "auto"),
            tags=self.tags((*where, "tags"), row.get("tags")),
            capacity=self.amount((*where, "capacity"), row.get("capacity"), "flow", positive=True),
            baseline=baseline if own is None else own,
            barometer=barometer,
            vent_bore=self.amount((*where, "vent_bore"), row.get("vent_bore"), "length", positive=True),
            limits=self.limits((*where, "limits"), _table(row.get("limits")), barometer),
            work=tuple(
                self.work((*where, "work", i), _table(w))
                for i, w in enumerate(_listed(row.get("work"), dict))
            ),
        )

    def address(self, pattern: str) -> str:
        return pattern if "://" in pattern else str(self.path.resolve().parent / pattern)

    def tags(self, where: fleet_shape.Path, table: Any) -> dict[str, TagRef]:
        tags: dict[str, TagRef] = {}
        if not isinstance(table, dict):
            return tags
        used: dict[str, str] = {}
        for role, entry in table.items():
            here = (*where, role)
            if role not in ROLES:
                self.fault(here, f'"{role}" is no role.{fleet_shape.nearest(role, ROLES)}')
                continue
            tag, unit = _table(entry).get("tag"), _table(entry).get("unit")
            if isinstance(unit, str):
                self.checked(here, lambda unit=unit, role=role: units.resolve(unit, reading_quantity(role)))
            if isinstance(tag, str):
                if tag in used:
                    self.fault(
                        here, f'tag "{tag}" already stands for {used[tag]}. Give each role its own tag.'
                    )
                used[tag] = role
                tags[role] = TagRef(tag, unit if isinstance(unit, str) else None)
        unknown = [role for role in table if role not in ROLES]
        for role in REQUIRED:
            if role not in table and not difflib.get_close_matches(role, unknown, n=1, cutoff=0.6):
                self.fault(
                    where, f'{role} is needed but not there. Add {role} = {{ tag = "...", unit = "..." }}.'
                )
        return tags

    def limits(self, where: fleet_shape.Path, table: dict[str, Any], barometer: float) -> dict[str, float]:
        known = {**_FEATURE_LIMITS, **{role: reading_quantity(role) for role in ROLES}}
        limits: dict[str, float] = {}
        for name, text in table.items():
            if name not in known:
                self.fault((*where, name), f'"{name}" can have no limit.{fleet_shape.nearest(name, known)}')
            elif (value := self.amount((*where, name), text, known[name], barometer=barometer)) is not None:
                limits[name] = value
        return limits

    def work(self, where: fleet_shape.Path, row: dict[str, Any]) -> Work:
        known = {cause.resets for cause in CAUSES.values() if cause.resets} | {"all"}
        resets = _listed(row.get("resets"))
        for word in resets:
            sensor = word.removeprefix("sensor:")
            if sensor != word and sensor not in ROLES:
                self.fault((*where, "resets"), f'"{sensor}" is no role.{fleet_shape.nearest(sensor, ROLES)}')
            elif sensor == word and word not in known:
                self.fault(
                    (*where, "resets"),
                    f'"{word}" is nothing that work resets.{fleet_shape.nearest(word, {*known, "sensor:<role>"})}',
                )
        date = self.instant((*where, "date"), row.get("date"))
        return Work(date, str(row.get("what")), tuple(resets))

    def amount(
        self,
        where: fleet_shape.Path,
        text: Any,
        quantity: str,
        positive: bool = False,
        barometer: float = units.STANDARD_ATMOSPHERE,
    ) -> float | None:
        if not isinstance(text, str):
            return None
        value = self.checked(where, lambda: units.amount(text, quantity, barometer))
        if positive and value is not None and value <= 0:
            self.fault(where, f'must be more than zero (found "{text}").')
        return value

    def checked(self, where: fleet_shape.Path, work: Callable[[], Any]) -> Any:
        try:
            return work()
        except UnitFault as fault:
            self.fault(where, str(fault))
            return None

    def baseline(self, where: fleet_shape.Path, value: Any) -> "Baseline":
        if value is None:
            return None
        if isinstance(value, str):
            length = re.fullmatch(r"\s*(\d+)\s*(day|week)s?\s*", value)
            if length and int(length[1]) > 0:
                return pd.Timedelta(days=int(length[1]) * (7 if length[2] == "week" else 1))
        if isinstance(value, list) and len(value) == 2:
            start, end = self.instant(where, value[0]), self.instant(where, value[1], end=True)
            if start is not pd.NaT and end is not pd.NaT and start >= end:
                self.fault(where, f"ends ({value[1]}) before it begins ({value[0]}). Swap the two dates.")
            return start, end
        self.fault(
            where,
            f'{value!r} is neither a length nor two dates. Write "90 days" or ["2025-01-01", "2025-03-31"].',
        )
        return None

    def instant(self, where: fleet_shape.Path, value: Any, end: bool = False) -> pd.Timestamp:
        """A date or time of the fleet's timezone → UTC; of a date its start, or its end."""
        if isinstance(value, str):
            try:
                value = (
                    datetime.datetime.fromisoformat(value)
                    if len(value) > 10
                    else datetime.date.fromisoformat(value)
                )
            except ValueError:
                self.fault(where, f'"{value}" is no date. Write it like 2025-03-31.')
                return pd.NaT
        if isinstance(value, datetime.date):  # a datetime is one too
            whole_day = not isinstance(value, datetime.datetime)
            stamp = pd.Timestamp(value) + pd.Timedelta(days=1 if end and whole_day else 0)
            if not pd.Timestamp("1970-01-01") < stamp.tz_localize(None) < pd.Timestamp("2200-01-01"):
                self.fault(where, f"{value} is no plausible date. Correct the year.")
                return pd.NaT
            if stamp.tzinfo is None:
                stamp = stamp.tz_localize(self.timezone, ambiguous=True, nonexistent="shift_forward")
            return stamp.tz_convert("UTC")
        if value is not None:
            self.fault(where, f"{value!r} is no date. Write it like 2025-03-31.")
        return pd.NaT


Baseline = tuple[pd.Timestamp, pd.Timestamp] | pd.Timedelta | None


def _table(value: Any) -> dict[str, Any]:
    return value if isinstance(value, dict) else {}


def _listed(value: Any, kind: type = str) -> list[Any]:
    return [v for v in value if isinstance(v, kind)] if isinstance(value, list) else []
