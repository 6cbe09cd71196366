"""A vessel's health as finished text: as fitted to its baseline, and by cause since."""

from dataclasses import dataclass

from sevenppb.detect.causes import CAUSES
from sevenppb.detect.incidents.incident import HealthParameter, Incident, VesselScan
from sevenppb.reports import numbers, words
from sevenppb.reports.numbers import Units
from sevenppb.reports.views import comparison

UNDETERMINED = "not determined: stays at its prior"

LABELS = {
    "spray_transfer": "heat transfer over the sprays (transfer units)",
    "tray_transfer": "heat transfer over the trays (transfer units)",
    "spray_oxygen": "oxygen transfer over heat transfer, sprays",
    "tray_oxygen": "oxygen transfer over heat transfer, trays",
    "spray_differential": "spray differential at usual flow",
    "spray_exponent": "exponent of spray differential on flow",
    "vent_share": "vent flow over water flow",
    "vent_line": "cooling of the vent line (transfer units)",
    "valve_opening": "steam valve opening at usual load",
    "valve_curve": "exponent of valve opening on flow area",
    "inlet_gas": "inlet oxygen",
    "heat_loss": "temperature taken by heat loss",
}


@dataclass(frozen=True)
class ParameterCell:
    """One fitted parameter of one vessel; `over_usual` is its value over that of a deaerator like most. Where these
    readings do not determine it, `value` says so and the rest is empty."""

    value: str
    interval: str
    over_usual: str


@dataclass(frozen=True)
class ParameterLine:
    """One fitted parameter: its cell of each vessel, in the order of the table's heads."""

    parameter: str
    cells: tuple[ParameterCell, ...]


@dataclass(frozen=True)
class HealthCell:
    """One cause at one vessel: the size `found` of a running incident, else below which size it must be."""

    text: str
    found: bool


@dataclass(frozen=True)
class HealthLine:
    """One cause over all vessels."""

    cause: str
    cells: tuple[HealthCell, ...]


def at_baseline(vessels: list[VesselScan], units: dict[str, Units]) -> tuple[ParameterLine, ...]:
    """A line a fitted parameter, a cell a vessel."""
    names = dict.fromkeys(row.parameter for vessel in vessels for row in vessel.health)
    return tuple(
        ParameterLine(
            LABELS[name], tuple(_parameter_cell(vessel, name, units[vessel.id]) for vessel in vessels)
        )
        for name in names
    )


def _parameter_cell(vessel: VesselScan, name: str, units: Units) -> ParameterCell:
    row = next((row for row in vessel.health if row.parameter == name), None)
    if row is None:
        return ParameterCell(numbers.NONE, "", "")
    if not row.determined:
        return ParameterCell(UNDETERMINED, "", "")
    shown = numbers.move_scale(row.unit, units)
    decimals = numbers.decimals_for_digits(max(abs(row.low), abs(row.high)) * shown.factor, 2)
    value = f"{numbers.number(row.value * shown.factor, decimals)}{numbers.SPACE}{shown.label}".rstrip()
    return ParameterCell(
        value,
        numbers.interval(row.low, row.high, row.unit, units),
        _over_usual(row),
    )


def _over_usual(row: HealthParameter) -> str:
    ratio = row.value / row.usual
    return f"{numbers.number(ratio, min(numbers.decimals_for_digits(ratio, 2), 2))} × usual"


def by_cause(vessels: list[VesselScan], units: dict[str, Units]) -> tuple[HealthLine, ...]:
    """Causes by vessels. A cause that a vessel's scan says nothing of has a dash."""
    lines = []
    for slug in CAUSES:
        cells = tuple(_cause_cell(vessel, slug, units[vessel.id]) for vessel in vessels)
        if any(cell.text != numbers.NONE for cell in cells):
            lines.append(HealthLine(words.cause(slug, None), cells))
    return tuple(lines)


def _cause_cell(vessel: VesselScan, slug: str, units: Units) -> HealthCell:
    there = [row for row in comparison.running(vessel) if row.cause == slug]
    if there:
        return HealthCell("; ".join(_found(row, units) for row in there), found=True)
    row = next((row for row in vessel.coverage if row.cause == slug), None)
    if row is None:
        return HealthCell(numbers.NONE, found=False)
    if not row.visible:
        return HealthCell("not visible", found=False)
    return HealthCell(f"under {numbers.amount(row.smallest, CAUSES[slug].unit, units)}", found=False)


def _found(row: Incident, units: Units) -> str:
    """The size alone, since the line names the cause; a sensor's says which."""
    who = "" if row.role is None else f"{words.feature(row.role)} "
    return who + words.size(row, units)
