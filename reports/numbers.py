"""Numbers as people read them: in the fleet's display units, with no more digits than the instruments support."""

import math
from dataclasses import dataclass
from typing import Literal

from sevenppb.detect.roles import ROLES

System = Literal["si", "us"]
NONE = "–"
MINUS = "\u2212"
DIGITS_WITHOUT_ACCURACY = 3


@dataclass(frozen=True)
class Scale:
    """shown = inside × factor + offset; `label` is the unit beside the number."""

    label: str
    factor: float
    offset: float = 0.0


# Inside unit → (SI, US). Factors are exact by definition of the inch, the pound and the International Table Btu.
_POUND = 0.45359237
_PSI = 6894.757293168
_SCALES: dict[str, tuple[Scale, Scale]] = {
    "Pa": (Scale("kPa", 1e-3), Scale("psi", 1 / _PSI)),
    "degC": (Scale("°C", 1.0), Scale("°F", 1.8, 32.0)),
    "K": (Scale("°C", 1.0), Scale("°F", 1.8)),
    "kg/s": (Scale("t/h", 3.6), Scale("klb/h", 3.6 / _POUND)),
    "kg/h": (Scale("kg/h", 1.0), Scale("lb/h", 1 / _POUND)),
    "kW": (Scale("kW", 1.0), Scale("kBtu/h", 3600 / 1055.05585262)),
    "1": (Scale("%", 100.0), Scale("%", 100.0)),
    "fraction": (Scale("%", 100.0), Scale("%", 100.0)),
}
_SAME = {"delta_degC": "K", "degC difference": "K"}


def scale(unit: str, system: System, *, move: bool = False) -> Scale:
    """How to show `unit`; a `move` (residual, shift) has no offset. A unit that is not in the table stays as it is."""
    pair = _SCALES.get(_SAME.get(unit, unit))
    if pair is None:
        return Scale(unit, 1.0)
    found = pair[0] if system == "si" else pair[1]
    return Scale(found.label, found.factor) if move else found


def feature_scale(feature: str, unit: str, system: System, *, move: bool = False) -> Scale:
    """Like `scale`; a role that is a pressure says that it is absolute, unless it is a move."""
    found = scale(unit, system, move=move)
    role = ROLES.get(feature)
    if role is not None and role.quantity == "pressure" and not move:
        return Scale(f"{found.label} abs", found.factor, found.offset)
    return found


def places(feature: str, shown: Scale, typical: float) -> int:
    """Decimals that the instrument behind `feature` supports around `typical` [shown unit]: the first digit
    of its usual standard uncertainty is the last one shown. Features without a role get three digits."""
    role = ROLES.get(feature)
    if role is None:
        return decimals_for_digits(typical)
    accuracy = role.accuracy * abs(typical) if role.relative else role.accuracy * shown.factor
    if not math.isfinite(accuracy) or accuracy <= 0.0:
        return decimals_for_digits(typical)
    return min(max(math.ceil(-math.log10(accuracy)), 0), 6)


def decimals_for_digits(value: float, digits: int = DIGITS_WITHOUT_ACCURACY) -> int:
    """Decimals that leave `digits` significant ones."""
    if not math.isfinite(value) or value == 0.0:
        return 1
    return min(max(digits - 1 - math.floor(math.log10(abs(value))), 0), 6)


def number(value: float | None, decimals: int, *, signed: bool = False) -> str:
    """A number with a true minus sign and thin groups of thousands; a dash for none."""
    if value is None or not math.isfinite(value):
        return NONE
    text = f"{abs(value):,.{decimals}f}".replace(",", "\u202f")
    is_zero = float(f"{value:.{decimals}f}") == 0.0
    sign = "" if is_zero else MINUS if value < 0 else "+" if signed else ""
    return sign + text


def reading(feature: str, value: float | None, unit: str, system: System) -> str:
    """A feature's reading with its unit: "104.2 °C"."""
    if value is None or not math.isfinite(value):
        return NONE
    shown = feature_scale(feature, unit, system)
    in_unit = value * shown.factor + shown.offset
    return f"{number(in_unit, places(feature, shown, in_unit))} {shown.label}".rstrip()


def amount(value: float | None, unit: str, system: System, *, digits: int = 2, signed: bool = False) -> str:
    """A magnitude with its unit, by significant digits: "62 %", "1.2 °C"."""
    if value is None or not math.isfinite(value):
        return NONE
    shown = scale(unit, system, move=True)
    in_unit = value * shown.factor
    text = number(in_unit, decimals_for_digits(in_unit, digits), signed=signed)
    return f"{text} {shown.label}".rstrip()


def interval(low: float, high: float, unit: str, system: System) -> str:
    """ "50 to 74 %": both ends with the same decimals; a dash where an end is missing."""
    if not (math.isfinite(low) and math.isfinite(high)):
        return NONE
    shown = scale(unit, system, move=True)
    ends = (low * shown.factor, high * shown.factor)
    decimals = decimals_for_digits(max(ends, key=abs), 2)
    return f"{number(ends[0], decimals)} to {number(ends[1], decimals)} {shown.label}".rstrip()


def percent(fraction: float | None) -> str:
    """A probability or share: whole percent, and never a 0 or 100 that is not exactly that."""
    if fraction is None or not math.isfinite(fraction):
        return NONE
    whole = round(100 * fraction)
    if whole == 0 and fraction > 0:
        return "under 1 %"
    if whole == 100 and fraction < 1:
        return "over 99 %"
    return f"{whole} %"
