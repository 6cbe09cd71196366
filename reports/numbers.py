"""Numbers as people read them: in the fleet's units, with no more digits than the instruments support."""

import math
from dataclasses import dataclass
from typing import Literal

from sevenppb.detect import units
from sevenppb.detect.features import SWING, WATCHED
from sevenppb.detect.roles import ROLES, TRAVEL, Role

NONE = "–"
MINUS = "\u2212"
GROUP = "\u202f"
SPACE = "\u00a0"  # keeps a number and its unit on one line
DIGITS_WITHOUT_ACCURACY = 3
MANY_ERRORS = 50.0
FINEST_TEMPERATURE = 2  # decimals; no thermometer in a plant supports more

# A unit used inside → the quantity that it shows as, where no role says so: moves and derived features.
_QUANTITIES = {
    "Pa": "difference",
    "degC": "temperature",
    "K": "temperature difference",
    "delta_degC": "temperature difference",
    "kg/s": "flow",
    "1": "fraction",
    "fraction": "fraction",
    "ppb": "oxygen",
}
_SIGNS = {"degC": "°C", "degF": "°F"}
_POUND = 0.45359237  # kg, exact by definition
_BTU = 1055.05585262  # J, the International Table Btu
_US_ONLY = {"kg/h": ("lb/h", 1 / _POUND), "kW": ("kBtu/h", 3600 / _BTU)}


@dataclass(frozen=True)
class Units:
    """What a report shows in; gauge pressures are over the vessel's `barometer` [Pa]."""

    system: Literal["si", "us"]
    barometer: float = units.STANDARD_ATMOSPHERE


@dataclass(frozen=True)
class Scale:
    """shown = inside × factor + offset; `label` is the unit beside the number."""

    label: str
    factor: float
    offset: float = 0.0


def scale(feature: str, unit: str, shown_in: Units) -> Scale:
    """How to show a reading of a role or feature; a unit that no table knows stays as it is."""
    role = ROLES.get(feature)
    behind = _instrument(feature)
    if role is None and behind is not None and behind.unit == unit:  # its reading under another name
        role = behind
    quantity = role.quantity if role is not None else _QUANTITIES.get(unit)
    if feature == "barometric_pressure":
        quantity = "difference"
    if quantity is None:
        return _plain(unit, shown_in)
    found = units.display(quantity, shown_in.system, shown_in.barometer)
    return Scale(_SIGNS.get(found.label, found.label), found.scale, found.offset)


def move_scale(unit: str, shown_in: Units) -> Scale:
    """How to show a difference of two readings: without an offset."""
    quantity = _QUANTITIES.get(unit)
    if quantity is None:
        return _plain(unit, shown_in)
    found = units.display(quantity, shown_in.system)
    return Scale(_SIGNS.get(found.delta_label, found.delta_label), found.scale)


def _plain(unit: str, shown_in: Units) -> Scale:
    if shown_in.system == "us" and unit in _US_ONLY:
        return Scale(*_US_ONLY[unit])
    return Scale(unit, 1.0)


def places(feature: str, shown: Scale, typical: float) -> int:
    """Decimals that the instrument behind `feature` supports near `typical` [shown unit]: the first digit of
    its usual standard uncertainty is the last one shown, and may stand before the point (negative decimals).
    Features without a role get three digits."""
    role = _instrument(feature)
    if role is None:
        return decimals_for_digits(typical)
    level = shown.factor if feature.endswith(SWING) else abs(typical)  # a share's own rise is a share
    accuracy = role.accuracy * level if role.relative else role.accuracy * shown.factor
    if not math.isfinite(accuracy) or accuracy <= 0.0:
        return decimals_for_digits(typical)
    return min(math.ceil(-math.log10(accuracy)), 6)


def _instrument(feature: str) -> Role | None:
    watched = WATCHED.get(feature)
    return ROLES.get(watched.role if watched is not None else feature)


def decimals_for_digits(value: float, digits: int = DIGITS_WITHOUT_ACCURACY) -> int:
    """Decimals that leave `digits` significant ones; negative ones round before the point."""
    if not math.isfinite(value) or value == 0.0:
        return 1
    rounded = float(f"{value:.{digits - 1}e}")  # 9.96 is 10 by two digits, and has none after the point
    return min(digits - 1 - math.floor(math.log10(abs(rounded))), 6)


def decimals_for_doubt(doubt: float) -> int:
    """Decimals of a value that is uncertain by `doubt`: those of its first two digits where these are 10 to 35, of
    its first digit otherwise. The rule of the Particle Data Group's Review of Particle Physics, introduction,
    "Rounding"; from memory."""
    if not math.isfinite(doubt) or doubt <= 0.0:
        return decimals_for_digits(doubt)
    leading = math.floor(math.log10(doubt))
    return min((1 if doubt / 10.0**leading < 3.55 else 0) - leading, 6)


def number(value: float | None, decimals: int, *, signed: bool = False) -> str:
    """A number with a true minus sign and thin groups of thousands; a dash for none.
    Negative `decimals` round before the point: -2 to hundreds."""
    if value is None or not math.isfinite(value):
        return NONE
    if decimals < 0:
        value, decimals = round(value, decimals), 0
    text = f"{abs(value):,.{decimals}f}".replace(",", GROUP)
    is_zero = float(f"{value:.{decimals}f}") == 0.0
    sign = "" if is_zero else MINUS if value < 0 else "+" if signed else ""
    return sign + text


def reading(feature: str, value: float | None, unit: str, shown_in: Units, *, finer: int = 0) -> str:
    """A feature's reading with its unit: "104.2 °C"; with so many digits more than its instrument supports."""
    if value is None or not math.isfinite(value):
        return NONE
    shown = scale(feature, unit, shown_in)
    in_unit = value * shown.factor + shown.offset
    return f"{number(in_unit, places(feature, shown, in_unit) + finer)}{SPACE}{shown.label}".rstrip()


def expected(feature: str, value: float, unit: str, shown_in: Units, *, finer: int = 0) -> str:
    """As `reading`; in words at the ends of a valve's travel, beyond which nothing can be."""
    role = ROLES.get(feature)
    if role is not None and role.quantity == "fraction" and math.isfinite(value):
        if value >= TRAVEL[1]:
            return "fully open"
        if value <= TRAVEL[0]:
            return "shut"
    return reading(feature, value, unit, shown_in, finer=finer)


def digits_apart(feature: str, one: float, other: float, unit: str, shown_in: Units) -> int:
    """How many of the last digit that both show lie between two readings as shown; 0 where one is none."""
    shown = scale(feature, unit, shown_in)
    both = [value * shown.factor + shown.offset for value in (one, other)]
    if not all(map(math.isfinite, both)):
        return 0
    decimals = min(places(feature, shown, value) for value in both)
    first, second = (round(value, decimals) for value in both)
    return round(abs(first - second) * 10.0**decimals)


def is_shown(feature: str, move: float, typical: float, unit: str, shown_in: Units) -> bool:
    """Whether a move [unit] is as large as the last digit shown near `typical` [unit]."""
    shown = scale(feature, unit, shown_in)
    decimals = places(feature, shown, typical * shown.factor + shown.offset)
    return abs(move * shown.factor) * 10.0**decimals >= 1.0


def doubted(feature: str, value: float, doubt: float | None, unit: str, shown_in: Units) -> str:
    """A reading with the decimals that its own standard uncertainty supports; without one, its instrument's."""
    if doubt is None or not (math.isfinite(doubt) and math.isfinite(value)):
        return reading(feature, value, unit, shown_in)
    shown = scale(feature, unit, shown_in)
    text = number(value * shown.factor + shown.offset, decimals_for_doubt(doubt * abs(shown.factor)))
    return f"{text}{SPACE}{shown.label}".rstrip()


def doubt(value: float | None, unit: str, shown_in: Units) -> str:
    """A standard uncertainty of a reading, with the decimals that it leaves the reading."""
    if value is None or not math.isfinite(value):
        return NONE
    shown = move_scale(unit, shown_in)
    in_unit = value * shown.factor
    return f"{number(in_unit, decimals_for_doubt(in_unit))}{SPACE}{shown.label}".rstrip()


def amount(value: float | None, unit: str, shown_in: Units, *, digits: int = 2, signed: bool = False) -> str:
    """A magnitude with its unit, by significant digits: "62 %", "1.2 °C"."""
    if value is None or not math.isfinite(value):
        return NONE
    shown = move_scale(unit, shown_in)
    in_unit = value * shown.factor
    text = number(in_unit, decimals_for_digits(in_unit, digits), signed=signed)
    return f"{text}{SPACE}{shown.label}".rstrip()


def move(feature: str, value: float, typical: float, unit: str, shown_in: Units) -> str:
    """A feature's signed move by two digits, and by no more than one past what its instrument supports near
    `typical` [unit]: "+0.29 °C"."""
    shown = move_scale(unit, shown_in)
    in_unit = value * shown.factor
    supported = places(feature, shown, typical * shown.factor) + 1
    text = number(in_unit, min(decimals_for_digits(in_unit, 2), supported), signed=True)
    return f"{text}{SPACE}{shown.label}".rstrip()


def interval(low: float, high: float, unit: str, shown_in: Units) -> str:
    """ "50 to 74 %": both ends with the decimals that half its width supports, and by no more than two digits of the
    larger end; a dash where an end is missing."""
    if not (math.isfinite(low) and math.isfinite(high)):
        return NONE
    shown = move_scale(unit, shown_in)
    decimals = _supported(low, high, shown)
    ends = (number(end * shown.factor, decimals) for end in (low, high))
    return f"{' to '.join(ends)}{SPACE}{shown.label}".rstrip()


def estimate(
    value: float, low: float, high: float, unit: str, shown_in: Units, *, signed: bool = False
) -> tuple[str, str]:
    """A value and its interval, with the same decimals: "62 %" and "50 to 74 %"."""
    ends = interval(low, high, unit, shown_in)
    if ends == NONE or not math.isfinite(value):
        return amount(value, unit, shown_in, signed=signed), ends
    shown = move_scale(unit, shown_in)
    text = number(value * shown.factor, _supported(low, high, shown), signed=signed)
    return f"{text}{SPACE}{shown.label}".rstrip(), ends


def _supported(low: float, high: float, shown: Scale) -> int:
    """Decimals of an interval's ends; one more where an end that is not zero would read so."""
    ends = (low * shown.factor, high * shown.factor)
    decimals = min(decimals_for_doubt((ends[1] - ends[0]) / 2), decimals_for_digits(max(ends, key=abs), 2))
    if decimals < 0 and any(end != 0.0 and round(end, decimals) == 0.0 for end in ends):
        decimals += 1
    return min(decimals, FINEST_TEMPERATURE) if shown.label in _SIGNS.values() else decimals


def errors(value: float) -> str:
    """A signed move in standard errors: by two digits, and by no more than one decimal. Beyond MANY_ERRORS, how many is
    of no more use."""
    if math.isfinite(value) and abs(value) > MANY_ERRORS:
        return f"{number(math.copysign(MANY_ERRORS, value), 0, signed=True)}{SPACE}and{SPACE}more"
    return number(value, min(decimals_for_digits(value, 2), 1), signed=True)


def money(value: float) -> str:
    """An estimated sum: two digits are all that it supports."""
    return number(float(f"{value:.2g}") if math.isfinite(value) else None, 0)


def percent(fraction: float | None) -> str:
    """A probability or share: whole percent, and never a 0 or 100 that is not exactly that."""
    if fraction is None or not math.isfinite(fraction):
        return NONE
    whole = round(100 * fraction)
    if whole == 0 and fraction > 0:
        return f"under 1{SPACE}%"
    if whole == 100 and fraction < 1:
        return f"over 99{SPACE}%"
    return f"{whole}{SPACE}%"
