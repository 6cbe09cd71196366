"""Unit names as people and historians write them → factor and offset to the units used inside.

The factors are `unit_factors`'; the spellings, and the question whether a pressure is gauge,
absolute or vacuum, are this file's. A bare pressure unit is never guessed: a gauge reading taken as an
absolute one shifts every saturation temperature by tens of degrees.
"""

import difflib
import functools
import re
import unicodedata
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from sevenppb.detect.errors import UnitFault
from sevenppb.detect.unit_factors import FACTORS
from sevenppb.detect.unit_spellings import AMBIGUOUS, SPELLINGS, SUFFIX, Reference

Floats = npt.NDArray[np.float64]

STANDARD_ATMOSPHERE = 101325.0  # Pa, the standard atmosphere (BIPM, The International System of Units)
VOLUME_TEMPERATURE = 15.0  # degC at which water's density is taken where a volume flow doesn't say
LIQUID = (0.01, 350.0)  # degC of saturated water as a liquid; its law ends there (IAPWS-IF97, region 1)

# what a reading is asked for → dimensions that serve it
_SERVES = {
    "pressure": ("pressure",), "barometer": ("pressure",), "difference": ("pressure",),
    "temperature": ("temperature",), "temperature difference": ("temperature difference",),
    "flow": ("flow", "volume flow"), "steam flow": ("flow",), "fraction": ("fraction",),
    "level": ("fraction",), "oxygen": ("oxygen",), "length": ("length",),
}  # fmt: skip


@dataclass(frozen=True)
class Unit:
    """One unit as it was written, understood: inside = value × `scale` + `offset` (gauge: + barometer;
    vacuum: barometer − value × `scale`). `note` states an assumption that a report must repeat."""

    text: str
    quantity: str
    scale: float
    offset: float
    reference: Reference
    note: str | None = None


def fold(text: str) -> str:
    """The unit's text without what spellings differ in: case, blanks, dots, brackets, degree signs."""
    plain = re.sub("[°º˚]", "", unicodedata.normalize("NFKC", text.replace("º", "°")))
    plain = plain.lower().replace("μ", "u").replace("δ", "delta").replace("in.", "in")
    plain = re.sub(r"\s+per\s+", "/", plain)
    return re.sub(r"[\s.,_^*()\[\]{}\-]+", "", plain) if plain != "0-1" else plain


_CUSTOMARY = re.compile(r"psi|in(ch|H)|ft|deg[FR]|lb|short_ton|\bgallon")


@functools.cache
def _table() -> dict[str, dict[str, str]]:
    """Dimension → folded spelling → pint's expression."""
    return {
        dimension: {fold(spelling): expression for expression, row in rows.items() for spelling in row}
        for dimension, rows in SPELLINGS.items()
    }


def is_known(text: str) -> bool:
    """Whether a text names any unit at all, even one that must be asked about."""
    folded = fold(text)
    return folded in AMBIGUOUS or _look_up(folded, "pressure") is not None


def is_customary(text: str) -> bool:
    """Whether a text names a unit of the United States' own system, as degF, psi or klb/h."""
    found = _look_up(fold(text), "pressure")
    return found is not None and _CUSTOMARY.search(found[1]) is not None


def _water_density(celsius: float) -> float:
    """Density of liquid water at saturation [kg/m3], by IAPWS-IF97 (iapws package)."""
    from iapws import IAPWS97  # slow to import, and only volume flows need it

    return float(IAPWS97(T=celsius + 273.15, x=0).rho)


def _look_up(text: str, wanted: str) -> tuple[str, str, Reference] | None:
    """(dimension, pint's expression, reference) of a folded text; what is wanted is tried before the rest."""
    table = _table()
    order = [*_SERVES[wanted], *(d for d in table if d not in _SERVES[wanted])]
    for dimension in order:
        if text in table[dimension]:
            return dimension, table[dimension][text], "plain"
        if dimension == "pressure":
            for suffix, reference in SUFFIX.items():
                if text.endswith(suffix) and text.removesuffix(suffix) in table[dimension]:
                    return dimension, table[dimension][text.removesuffix(suffix)], reference
    return None


def _unknown(text: str, wanted: str) -> UnitFault:
    shown = {
        fold(spelling): row[0] for d in _SERVES[wanted] for row in SPELLINGS[d].values() for spelling in row
    }
    if wanted == "pressure":
        shown = {f"{key}{s[0]}": f"{name} {s}" for key, name in shown.items() for s in ("gauge", "abs")}
    near = difflib.get_close_matches(fold(text), list(shown), n=1, cutoff=0.5)
    usual = ", ".join(list(dict.fromkeys(shown.values()))[:8])
    hint = f'Did you mean "{shown[near[0]]}"?' if near else f"Known units of {wanted}: {usual}."
    return UnitFault(f'unit "{text}" is not known. {hint}')


@functools.cache
def resolve(text: str, quantity: str) -> Unit:
    """What a unit's text means for a reading of `quantity`: "pressure", "barometer" (bare units are absolute
    there), "difference", "temperature", "temperature difference", "flow", "steam flow" (no volumes),
    "fraction", "level", "oxygen" or "length". A volume flow of water may say its temperature ("gpm at 80
    degC").

    Raises UnitFault: unknown, does not fit, or a pressure that doesn't say gauge or abs."""
    if quantity not in _SERVES:
        raise ValueError(f"no such quantity: {quantity}")
    name, celsius = text, None
    if stated := re.fullmatch(r"(.+?)\s*(?:@|\bat\b)\s*(-?(?:\d+\.?\d*|\.\d+))\s*(\S.*)", text):
        name = stated[1]
        basis = resolve(stated[3], "temperature")
        celsius = float(stated[2]) * basis.scale + basis.offset
        if not LIQUID[0] <= celsius <= LIQUID[1]:
            raise UnitFault(
                f'unit "{text}" names water of {celsius:.4g} degC: '
                f"it is a liquid from {LIQUID[0]:g} to {LIQUID[1]:g} degC."
            )
    folded = fold(name)
    if folded in AMBIGUOUS:
        raise UnitFault(f'unit "{text}" can mean several things: write {AMBIGUOUS[folded]}.')
    found = _look_up(folded, quantity)
    if found is None:
        raise _unknown(text, quantity)
    dimension, expression, reference = found
    if dimension not in _SERVES[quantity]:
        raise UnitFault(_misfit(text, dimension, quantity))
    reference = _reference(text, SPELLINGS[dimension][expression][0], reference, quantity)
    scale, offset = FACTORS[dimension][expression]
    note = None
    if dimension == "volume flow":
        at = VOLUME_TEMPERATURE if celsius is None else celsius
        density = _water_density(at)
        scale *= density
        assumed = " (assumed: the unit doesn't say)" if celsius is None else ""
        note = f"{name} is a volume: taken as water of {density:.1f} kg/m3, that is at {at:g} degC{assumed}"
    elif celsius is not None:
        raise UnitFault(
            f'unit "{text}" names a temperature, which only a volume flow of water needs: leave it out.'
        )
    return Unit(text, quantity, scale, offset, reference, note)


def _reference(text: str, shown: str, found: Reference, quantity: str) -> Reference:
    """Which zero the unit counts from, or the question that has to be asked."""
    if quantity == "pressure":
        if found == "plain":
            raise UnitFault(
                f'unit "{text}" doesn\'t say: gauge or abs? Write "{shown} gauge" or "{shown} abs" '
                f"(the mistake would shift every reading by the barometer)."
            )
        if found == "difference":
            raise UnitFault(
                f'unit "{text}" is a differential, but a pressure is needed: '
                f'"{shown} gauge" or "{shown} abs"?'
            )
    if quantity == "barometer":
        if found not in ("plain", "absolute"):
            raise UnitFault(
                f'unit "{text}" can\'t be a barometer\'s: write "{shown}", which is absolute here.'
            )
        return "absolute"
    if quantity == "difference":
        if found in ("absolute", "vacuum"):
            raise UnitFault(f'unit "{text}" can\'t be a differential\'s: write "{shown}".')
        return "difference"
    return found


def _misfit(text: str, dimension: str, quantity: str) -> str:
    if quantity == "steam flow" and dimension == "volume flow":
        return (
            f'unit "{text}" is a volume, and steam has no fixed density: '
            "use a tag in mass, such as t/h or lb/h."
        )
    if quantity == "level" and dimension == "length":
        return (
            f'unit "{text}" is a length, but a level is needed as % of its span: '
            "rescale the tag, or leave the role out."
        )
    known = ", ".join(row[0] for d in _SERVES[quantity] for row in list(SPELLINGS[d].values())[:5])
    return f'unit "{text}" is a unit of {dimension}, but one of {quantity} is needed, such as {known}.'


def apply(values: Floats, unit: Unit, barometer_pa: float | Floats) -> Floats:
    """Values in `unit` → in the unit used inside; `barometer_pa` [Pa] broadcasts; only gauge and vacuum use
    it."""
    scaled = values * unit.scale + unit.offset
    if unit.reference == "gauge":
        return scaled + barometer_pa
    if unit.reference == "vacuum":
        return barometer_pa - scaled
    return scaled


def to_inside(values: Floats, unit: str, quantity: str, barometer_pa: float | Floats) -> Floats:
    """Values in the unit named → Pa absolute (difference: Pa), degC, kg/s, fraction or ppb. NaN stays NaN.

    Raises UnitFault as `resolve` does."""
    return apply(values, resolve(unit, quantity), barometer_pa)


def amount(text: str, quantity: str, barometer_pa: float = STANDARD_ATMOSPHERE) -> float:
    """A number with its unit ("180 t/h", "2 delta_degC") → the unit used inside. Raises UnitFault."""
    parts = re.fullmatch(r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([^\d\s.,].*?)\s*", text)
    if parts is None:
        example = {"flow": "180 t/h", "length": "12 mm", "barometer": "101.3 kPa", "oxygen": "7 ppb"}.get(
            quantity, "5 %"
        )
        raise UnitFault(
            f'"{text}" is not a number with a unit. Write it like "{example}", with a decimal point.'
        )
    return float(apply(np.array(float(parts[1])), resolve(parts[2], quantity), barometer_pa))


@dataclass(frozen=True)
class Display:
    """How a reading is shown: shown = inside × `scale` + `offset`, in `label`; a difference of two readings
    is inside × `scale`, in `delta_label`."""

    label: str
    scale: float
    offset: float
    delta_label: str


def display(quantity: str, system: Literal["si", "us"], barometer_pa: float = STANDARD_ATMOSPHERE) -> Display:
    """The unit in which reports show a quantity of the table of roles ("temperature difference" too).
    Pressures are shown as gauge over `barometer_pa` [Pa]; show the barometer itself as a "difference"."""
    flow, pressure, temperature = ("t/h", "kPa", "degC") if system == "si" else ("lb/h", "psi", "degF")
    name = {
        "pressure": pressure, "difference": pressure, "temperature": temperature, "flow": flow,
        "temperature difference": temperature, "fraction": "%", "level": "%", "oxygen": "ppb",
    }[quantity]  # fmt: skip
    unit = resolve(
        {"pressure": f"{name} gauge", "temperature difference": f"delta_{name}"}.get(quantity, name), quantity
    )
    offset = unit.offset + (barometer_pa if unit.reference == "gauge" else 0.0)
    label = name if quantity == "temperature difference" else unit.text
    return Display(label, 1.0 / unit.scale, -offset / unit.scale, name)


def undo(values: Floats, unit: Unit, barometer_pa: float | Floats) -> Floats:
    """The reverse of `apply`."""
    if unit.reference == "vacuum":
        return (barometer_pa - values - unit.offset) / unit.scale
    base = values - barometer_pa if unit.reference == "gauge" else values
    return (base - unit.offset) / unit.scale


def from_inside(values: Floats, unit: str, quantity: str, barometer_pa: float | Floats) -> Floats:
    """The reverse of `to_inside`. Raises UnitFault."""
    return undo(values, resolve(unit, quantity), barometer_pa)
