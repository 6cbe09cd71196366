"""The fleet file's values: amounts with units, dates and lengths of time; and the list of all its faults."""

import datetime
import difflib
import re
import zoneinfo
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import pandas as pd

from sevenppb.detect import fleet_shape, fleet_text, units
from sevenppb.detect.errors import UnitFault

Baseline = tuple[pd.Timestamp, pd.Timestamp] | pd.Timedelta | None
_Any = TypeVar("_Any")
LONGEST_BASELINE = 36525  # days: a hundred years, far less than a time can hold


class Page:
    """The part of the file that is being read, with what was found wrong in all so far, so that a user sees all faults
    at once. A value of the wrong type gives None and no second fault: the shape has told it."""

    def __init__(self, path: Path) -> None:
        self.path, self.part = path, fleet_text.Part({}, {})
        self.timezone = "UTC"
        self._faults: set[tuple[int, str]] = set()  # every part tells of those in the fleet's own tables

    def turn(self, part: fleet_text.Part) -> dict[str, Any]:
        """Go on with a part; its document, whose shape has been looked at."""
        self.part = part
        for where, sentence in fleet_shape.shape_faults(part.document):
            self.fault(where, sentence)
        return part.document

    @property
    def faults(self) -> list[str]:
        """The faults, in the file's order."""
        return [sentence for _, sentence in sorted(self._faults)]

    def line(self, where: fleet_shape.Path) -> int:
        return fleet_text.line_of(where, self.part.lines)

    def fault(self, where: fleet_shape.Path, sentence: str) -> None:
        line = self.line(where)
        words = fleet_shape.words(where, self.part.document, self.part.before)
        self._faults.add((line, f"{self.path}:{line}: {words}: {sentence}"))

    def checked(self, where: fleet_shape.Path, work: Callable[[], _Any]) -> _Any | None:
        """The work's result; None where its unit is a fault, which is told."""
        try:
            return work()
        except UnitFault as fault:
            self.fault(where, str(fault))
            return None

    def zone(self, name: Any) -> str:
        """An IANA timezone's name; "UTC" where it is none."""
        if not isinstance(name, str):
            return "UTC"
        try:
            zoneinfo.ZoneInfo(name)
        except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
            near = difflib.get_close_matches(name, zoneinfo.available_timezones(), n=1)
            hint = f'Did you mean "{near[0]}"?' if near else 'Write it like "Europe/Oslo".'
            self.fault(("fleet", "timezone"), f'"{name}" is no IANA timezone. {hint}')
            return "UTC"
        return name

    def beneath(self, where: fleet_shape.Path, name: Any) -> Path | None:
        """A file to write: in the fleet file's folder or beneath it, so that a fleet file from elsewhere can't
        have anything written outside."""
        if not isinstance(name, str) or not name:
            return None
        folder = self.path.resolve().parent
        place = (folder / name).resolve()
        if place == folder or folder not in place.parents:
            told = f'"{name}" does not lie beneath the fleet file\'s folder'
            self.fault(where, f'{told}. Write a path from there, such as "register.sqlite".')
            return None
        if place.is_dir():
            self.fault(where, f'"{name}" is a folder. Name a file in it.')
            return None
        return place

    def amount(
        self,
        where: fleet_shape.Path,
        text: Any,
        quantity: str,
        barometer: float = units.STANDARD_ATMOSPHERE,
    ) -> float | None:
        """A number with its unit, in the inside unit of the quantity."""
        if not isinstance(text, str):
            return None
        return self.checked(where, lambda: units.amount(text, quantity, barometer))

    def size(self, where: fleet_shape.Path, text: Any, quantity: str) -> float | None:
        """An amount that is more than zero."""
        value = self.amount(where, text, quantity)
        if value is not None and value <= 0:
            self.fault(where, f'must be more than zero (found "{text}").')
        return value

    def baseline(self, where: fleet_shape.Path, value: Any) -> Baseline:
        """A length ("90 days") or two dates, the second included."""
        if value is None:
            return None
        if isinstance(value, str) and (length := re.fullmatch(r"\s*(\d+)\s*(day|week)s?\s*", value)):
            days = float(length[1]) * (7 if length[2] == "week" else 1)  # an int of so many digits raises
            if 0 < days <= LONGEST_BASELINE:
                return pd.Timedelta(days=days)
            self.fault(where, f"must be more than nothing and at most {LONGEST_BASELINE} days.")
            return None
        if isinstance(value, list) and len(value) == 2:
            start, end = self.instant(where, value[0]), self.instant(where, value[1], end=True)
            if start is None or end is None:
                return None
            if start >= end:
                self.fault(where, f"ends ({value[1]}) before it begins ({value[0]}). Swap the two dates.")
            return start, end
        example = '"90 days" or ["2025-01-01", "2025-03-31"]'
        self.fault(where, f"{value!r} is neither a length nor two dates. Write {example}.")
        return None

    def instant(self, where: fleet_shape.Path, value: Any, end: bool = False) -> pd.Timestamp | None:
        """A date or time of the fleet's timezone → UTC; of a date its start, or its end."""
        if value is None:
            return None
        if isinstance(value, str):
            read = datetime.datetime if len(value) > 10 else datetime.date
            try:
                value = read.fromisoformat(value)
            except ValueError:
                self.fault(where, f'"{value}" is no date. Write it like 2025-03-31.')
                return None
        if not isinstance(value, datetime.date):  # a datetime is one too
            self.fault(where, f"{value!r} is no date. Write it like 2025-03-31.")
            return None
        whole_day = not isinstance(value, datetime.datetime)
        stamp = pd.Timestamp(value) + pd.Timedelta(days=1 if end and whole_day else 0)
        if not 1970 < stamp.year < 2200:
            self.fault(where, f"{value} is no plausible date. Correct the year.")
            return None
        if stamp.tzinfo is None:
            stamp = stamp.tz_localize(self.timezone, ambiguous=True, nonexistent="shift_forward")
        return stamp.tz_convert("UTC")
