"""Which role a tag of an unknown export could have: by its name, its description, its unit and its values.
Each guess says why; what is doubtful says so."""

import functools
import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd

from sevenppb.detect import units
from sevenppb.detect.errors import UnitFault
from sevenppb.detect.exports import form, german
from sevenppb.detect.fleet import reading_quantity
from sevenppb.detect.roles import ROLES


@dataclass(frozen=True)
class Seen:
    """What an export shows of a tag: unit and description where it names them, its 5 %, 50 % and 95 % values, and its
    means in some hours (index: hour number by the export's clock). `own` is its name within its vessel."""

    tag: str
    unit: str | None
    description: str | None
    low: float
    middle: float
    high: float
    hourly: "pd.Series[float] | None" = field(default=None, compare=False)
    own: str = ""


@dataclass(frozen=True)
class Guess:
    """A role for a tag, how much speaks for it, and why in words."""

    role: str
    score: float
    reasons: tuple[str, ...]


_DA = r"(?-i:\bDA\b)"  # the deaerator, in capitals alone: in small letters it is a word of other languages
# words, in names and descriptions, that speak for a role, and such as speak against it
_WORDS: dict[str, tuple[str, str]] = {
    "shell_pressure": (
        rf"shell|deaer|{_DA}|dea\b|dearator|vessel|heater|dome|head",
        r"steam(?! dome)|supply|header|drum|turbine|vent|water|pump|differential|atm|baro",
    ),
    "storage_temperature": (
        rf"stor|tank|shell|deaer|{_DA}|vessel|bfw|boiler feed|outlet|section",
        r"inlet|to da\b|steam|vent|drain|make.?up|condensate|supply",
    ),
    "steam_pressure": (
        r"steam|stm|header|supply|extraction|\blp\b",
        r"shell|dome|vent|drum|water",
    ),
    "steam_flow": (r"steam|stm|heating|supply|extraction", r"vent|water|condensate|outlet"),
    "steam_temperature": (r"steam|stm|header|supply|extraction", r"vent|water|condensate|stor"),
    "steam_valve": (r"steam|stm|pcv|pv\b|pressure control|supply", r"vent|level|water"),
    "inlet_temperature": (
        r"inlet|condensate|cond\b|incoming|(?<!feed)(?<!feed )water|feed in|return",
        r"outlet|stor|steam|vent|make.?up|drain|cooling",
    ),
    "inlet_flow": (
        r"inlet|condensate|cond\b|incoming|(?<!feed)(?<!feed )water|return",
        r"outlet|steam|vent|make.?up|drain|boiler feed|bfw|cooling",
    ),
    "outlet_flow": (
        r"outlet|out\b|boiler feed|bfw|feed ?water|discharge|to boiler|\bfw\b(?! \d)",
        r"inlet|to da\b|steam|vent|make.?up|condensate|drain",
    ),
    "outlet_oxygen": (
        r"outlet|out\b|bfw|feed ?water|oxygen|\bo2\b|\bdo2?\b|dissolved",
        r"inlet|condensate|make.?up|flue|stack|scaveng",
    ),
    "inlet_oxygen": (r"inlet|condensate|incoming|make.?up|water in", r"outlet|bfw|flue|stack"),
    "vent_temperature": (r"vent", r"valve|flow"),
    "vent_flow": (r"vent", r"valve|temp"),
    "vent_valve": (r"vent", r"flow|temp"),
    "spray_differential": (r"spray|nozzle|diff|dp\b|pdt|dpt|delta", r"filter|strainer|level|pump"),
    "level": (r"level|lvl|\blt|\bli|\blic|storage|tank", r"valve|temp|press|flow"),
    "drain_flow": (r"drain|hp heater|cascade", r"valve|temp"),
    "drain_temperature": (r"drain|hp heater|cascade", r"valve|flow"),
    "makeup_flow": (r"make.?up|\bmu\b|demin|treated|softened", r"valve|temp|oxygen|condensate"),
    "makeup_temperature": (r"make.?up|\bmu\b|demin|treated|softened", r"valve|flow|condensate"),
    "barometric_pressure": (r"baro|atmos|ambient|\batm\b|weather", r"shell|steam"),
    "scavenger_flow": (r"scaveng|sulph?ite|hydrazine|carbohydrazide|deha|chemical", r"steam|water"),
}
_PLAIN = (
    "shell_pressure",
    "storage_temperature",
)  # roles of a vessel's tag that names its quantity and no place
_LETTERS = {  # first letters of a tag's name, as instrument lists give them (after ANSI/ISA-5.1)
    "pressure": r"^p(?!d)[a-z]*$", "difference": r"^(pd|dp)[a-z]*$", "temperature": r"^t[a-z]*$",
    "flow": r"^f[a-z]*$",
    "level": r"^l[a-z]*$", "oxygen": r"^(a[a-z]*|qt?|o2|do)$", "fraction": r"^(z[a-z]*|[a-z]*v|xv|[a-z]{0,2}c?o)$",
}  # fmt: skip
_QUANTITY_WORDS = {
    "pressure": r"press|\bprs\b", "difference": r"diff|\bdp\b|delta", "temperature": r"temp",
    "flow": r"flow|\bflo\b", "level": r"level|\blvl", "oxygen": r"oxygen|\bo2\b|\bdo2?\b",
    "fraction": r"valve|position|opening|\bpos\b",
}  # fmt: skip
# middle values [inside unit] that a deaerator's tag of the role usually has: common practice, no source
_USUAL = {
    "shell_pressure": (1.02e5, 1.2e6), "storage_temperature": (95, 190), "steam_pressure": (1.2e5, 5e6),
    "steam_temperature": (105, 450), "inlet_temperature": (20, 170), "makeup_temperature": (3, 95),
    "vent_temperature": (50, 190), "drain_temperature": (80, 250), "barometric_pressure": (7e4, 1.06e5),
    "outlet_oxygen": (0, 60), "inlet_oxygen": (20, 9500), "spray_differential": (500, 3e5),
}  # fmt: skip
SURE = 3.0  # a guess below stays commented out
CLEAR = 1.0  # by which a guess must lead the next
_UNIT_LETTERS = 3  # a shorter last word of a tag's name is rather a letter code than a unit
_NAME_ONLY = 1.0  # less for a word of the name where the description has one of another role
_ATTRIBUTE = re.compile(r"(?i)(.*\w)[.:/](pv|sp|sv|op|mv|cv|value)")  # of a point, after its name
_OF_CONTROLLER = re.compile(r"(?i)((?:.*[^a-z])?[a-z]{1,3}c[-_ ]?\d+[a-z]?)[-_ .:/](out)")  # PIC101_OUT
_SET_POINTS, _OUTPUTS = ("sp", "sv"), ("op", "out")  # what is wanted; an output may stand for its valve
_LAST_LETTERS = re.compile(r"(?:^|[^A-Za-z])([A-Z]{1,4})[-_ ]?\d+[A-Z]?$")  # PI of 21PI4501 and of U1-PI4501
_FIRST_LETTERS = re.compile(r"([A-Z]{1,4})(?=[-_ ]?\d|$)|([A-Z])(?=_)")
_AIR_VARIES = 0.06  # of the middle value, from the 5 % to the 95 % value: common practice, no source
_UNNAMED = {"temperature": ("degC", "degF")}  # units that an export without any may mean, where all are known
_NO_UNITS = ("atm", "prc")  # units too, but in a tag's name the atmosphere and a recording controller


def unit_by_name(seen: Seen) -> Seen:
    """The tag with the unit that its name ends in ("Stm Flow klb/hr", "Shell Press (psig)"), where the export names
    none."""
    if seen.unit is not None:
        return seen
    last = form.bare_unit(re.split(r"[\s_]+", seen.tag.strip())[-1])
    plain = len(last) >= _UNIT_LETTERS and last.lower() not in _NO_UNITS
    return replace(seen, unit=last) if plain and units.is_known(last) else seen


def guesses(seen: Seen, more: Mapping[str, tuple[float, str]]) -> list[Guess]:
    """The roles that the tag could have, best first; `more` is what else speaks for a role, and why."""
    found = [guess for role in ROLES if (guess := _guess(seen, role, more.get(role))) is not None]
    return sorted(found, key=lambda g: -g.score)


def _guess(seen: Seen, role: str, more: tuple[float, str] | None) -> Guess | None:
    quantity = ROLES[role].quantity
    if not (measures(seen) or (point(seen.tag)[1] in _OUTPUTS and quantity == "fraction")):
        return None
    score, reasons, plain = more[0] if more else 0.0, [], None
    inside = in_units(seen.unit, reading_quantity(role)) if seen.unit else _UNNAMED.get(quantity, ())
    usual = any(_usual(role, seen, unit) for unit in inside)
    if seen.unit:
        if not inside:
            return None
        score += 1.0
        reasons.append(f"unit {seen.unit}")
    if inside and not usual:
        score -= 2.0
        reasons.append(f"but its values ({seen.low:g} to {seen.high:g}) are unusual for it")
    own, other = _says(seen, quantity)
    if other and not (own or seen.unit):
        return None  # nothing speaks for its quantity, and something for another one
    if own:
        score += 1.0
        reasons.append(own)
    elif other:
        score -= 1.0
    if role in _PLAIN and (plain := _alone(quantity, seen)):
        score += 2.0
        reasons.append(f'nothing but "{plain}"')
    hit = _word(_WORDS[role][0], seen)
    if hit:
        described = _described(seen, quantity)
        score += 2.0 - (_NAME_ONLY if described and role not in described else 0.0)
        reasons.append(f'word "{hit}"')
    if against := _word(_WORDS[role][1], seen):
        score -= 1.5
        reasons.append(f'but word "{against}"')
    if more:
        reasons.append(more[1])
    if air := role == "barometric_pressure" and is_air(seen):
        reasons.append("its values are the air's")
    told = hit or more or plain or air or (score >= 2.0 and _only(role, seen, usual))
    return Guess(role, score, tuple(dict.fromkeys(reasons))) if told else None


def _only(role: str, seen: Seen, usual: bool) -> bool:
    """Whether of the roles of its quantity, which is all that is told, the tag's values fit this one alone."""
    others = {name for name, row in ROLES.items() if row.quantity == ROLES[role].quantity} - {role}
    ways = ((name, way) for name in others for way in in_units(seen.unit or "", reading_quantity(name)))
    return usual and not any(_usual(name, seen, way) for name, way in ways)


def _alone(quantity: str, seen: Seen) -> str | None:
    """The word for the quantity if the tag's own name has no other, and it has no description."""
    found = re.fullmatch(rf"\W*(\w*(?:{_QUANTITY_WORDS[quantity]})\w*)\W*", _text(seen), re.IGNORECASE)
    return found[1] if found and not seen.description else None


def is_air(seen: Seen) -> bool:
    """Whether a pressure could be the barometer's: its unit leaves open which it is, its values are the air's and
    hardly vary, and no word calls it the shell's."""
    ways = in_units(seen.unit, "pressure") if seen.unit else ()
    held = seen.high - seen.low < _AIR_VARIES * abs(seen.middle)
    air = any(_usual("barometric_pressure", seen, way) for way in ways if way.endswith("abs"))
    return len(ways) > 1 and held and air and not _word(_WORDS["shell_pressure"][0], seen)


def quantity_of(seen: Seen) -> str | None:
    """The quantity that a tag's name or description says, if it is one alone; a controller's output is an
    opening."""
    if point(seen.tag)[1] in _OUTPUTS:
        return "fraction"
    said = [name for name in _LETTERS if says(seen, name)]
    return said[0] if len(said) == 1 else None


def _described(seen: Seen, quantity: str) -> list[str]:
    """The roles of a quantity that words of the tag's description speak for."""
    described = replace(seen, tag="")
    same = (role for role, row in ROLES.items() if row.quantity == quantity)
    return [role for role in same if _word(_WORDS[role][0], described)]


def measures(seen: Seen) -> bool:
    """Whether the tag is not by its attribute a set point or an output."""
    return point(seen.tag)[1] not in (*_SET_POINTS, *_OUTPUTS)


def says(seen: Seen, quantity: str) -> bool:
    """Whether the tag's name or description says this quantity and no other."""
    own, other = _says(seen, quantity)
    return own is not None and not other


def _says(seen: Seen, quantity: str) -> tuple[str | None, bool]:
    """What in the tag's name or description says this quantity; and whether something says another one."""
    letters = _letters(_last_part(seen.own or seen.tag))
    if letters and any(re.search(w, letters.lower()) and _word(w, seen) for w in _QUANTITY_WORDS.values()):
        letters = None  # a word (POS, DP): it is told as one below
    own, other = None, False
    for name, pattern in _LETTERS.items():
        told = None
        if letters and re.match(pattern, letters.lower()):
            told = f"letters {letters}"
        if word := _word(_QUANTITY_WORDS[name], seen):
            told = f'word "{word}"'
        if name == quantity:
            own = told
        else:
            other = other or told is not None
    return own, other


@functools.cache
def in_units(text: str, quantity: str) -> tuple[str, ...]:
    """The ways in which an export's unit can be meant for a quantity: a bare pressure as gauge and as
    absolute."""
    ways = []
    for way in (text, f"{text} gauge", f"{text} abs"):
        try:
            units.resolve(way, quantity)
        except UnitFault:
            continue
        ways.append(way)
    return tuple(ways[:1] if ways and ways[0] == text else ways)


def _usual(role: str, seen: Seen, unit: str) -> bool:
    values = units.to_inside(
        np.array([seen.low, seen.middle, seen.high]), unit, reading_quantity(role), 101325.0
    )
    row = ROLES[role]
    low, high = _USUAL.get(role, (row.low, row.high))
    return bool(row.low <= values[0] and values[2] <= row.high and low <= values[1] <= high)


def point(tag: str) -> tuple[str, str]:
    """A point's name and its attribute in small letters, if it is followed by one (PT101.PV → PT101, pv)."""
    found = _ATTRIBUTE.fullmatch(tag) or _OF_CONTROLLER.fullmatch(tag)
    return (found[1], found[2].lower()) if found else (tag, "")


def _last_part(tag: str) -> str:
    """A tag without the plant's and vessel's parts before it, nor the attribute after it (DA1.PT101.PV → PT101)."""
    name, _ = point(tag)
    parts = [p for p in re.split(r"[._:/\\\s]+", name) if re.search(r"[A-Za-z]", p)]
    return parts[-1] if parts else name


def _letters(part: str) -> str | None:
    """The letter code of an instrument: the letters before the last number, else those that the name begins with."""
    if found := _LAST_LETTERS.search(part):
        return found[1]
    found = _FIRST_LETTERS.match(part)
    return found[0] if found else None


def _text(seen: Seen) -> str:
    """A tag's own name as words."""
    return german.in_english(re.sub(r"[._\-:/]+", " ", point(seen.own or seen.tag)[0]))


def _word(pattern: str, seen: Seen) -> str | None:
    for text in (german.in_english(seen.description or ""), _text(seen)):
        if found := re.search(pattern, text, re.IGNORECASE):
            return found[0]
    return None
