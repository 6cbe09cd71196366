"""A vessel's health as finished text: as fitted to its baseline, and by cause since."""

from dataclasses import dataclass

from sevenppb.detect.causes import CAUSES
from sevenppb.detect.incidents.incident import HealthParameter, Incident, VesselScan
from sevenppb.reports import numbers, words
from sevenppb.reports.likely import is_told
from sevenppb.reports.numbers import Units
from sevenppb.reports.views import comparison
from sevenppb.reports.views.table import NOTHING

UNDETERMINED = "not determined"

LEAST_SHARE = 0.1  # of the usual value, that is told as a number

_FIRST = 1e9  # over any size from which on a cause is visible

LABELS = {
    "spray_transfer": "heat transfer over the sprays (transfer units)",
    "tray_transfer": "heat transfer over the trays (transfer units)",
    "spray_oxygen": "oxygen transfer over heat transfer, sprays",
    "tray_oxygen": "oxygen transfer over heat transfer, trays",
    "spray_differential": "spray differential at usual flow",
    "spray_exponent": "exponent of spray differential on flow",
    "vent_share": "vent flow over water flow",
    "vent_line": "cooling of the vent line (transfer units)",
    "vent_throttled": "vented steam's throttling ahead of its thermometer (share)",
    "gas_mixing": "share of the vented gas that the water meets",
    "valve_opening": "steam valve opening at usual load",
    "valve_curve": "exponent of valve opening on flow area",
    "inlet_gas": "inlet oxygen",
    "heat_loss": "temperature taken by heat loss",
}


@dataclass(frozen=True)
class ParameterCell:
    """One fitted parameter of one vessel; `over_usual` is its value over the value usual for deaerators. Where these
    readings do not determine it, `value` says so and the rest is empty. It sorts by `key`."""

    value: str
    interval: str
    over_usual: str
    key: float


@dataclass(frozen=True)
class ParameterLine:
    """One vessel: its cells, in the order of the table's heads."""

    vessel: str
    cells: tuple[ParameterCell, ...]


@dataclass(frozen=True)
class HealthCell:
    """One cause at one vessel: the size `found` of a running incident, else below which size it must be. It sorts by
    `key`: what was found first, by its size."""

    text: str
    found: bool
    key: float


@dataclass(frozen=True)
class HealthLine:
    """One vessel: its cells, in the order of the table's heads."""

    vessel: str
    cells: tuple[HealthCell, ...]


@dataclass(frozen=True)
class HealthTable:
    """Causes by vessels: the causes that any vessel's scan says something of, and a line a vessel."""

    causes: tuple[str, ...]
    lines: tuple[HealthLine, ...]


def parameters(vessels: list[VesselScan]) -> tuple[str, ...]:
    """The fitted parameters that any of the vessels has."""
    return tuple(dict.fromkeys(row.parameter for vessel in vessels for row in vessel.health))


def determined(vessels: list[VesselScan]) -> tuple[str, ...]:
    """Of these, the ones that the readings of any vessel determine."""
    told = {row.parameter for vessel in vessels for row in vessel.health if row.determined}
    return tuple(name for name in parameters(vessels) if name in told)


def at_baseline(vessel: VesselScan, names: tuple[str, ...], units: Units) -> ParameterLine:
    """The vessel's fitted parameters of these names."""
    return ParameterLine(vessel.id, tuple(_parameter_cell(vessel, name, units) for name in names))


def _parameter_cell(vessel: VesselScan, name: str, units: Units) -> ParameterCell:
    row = next((row for row in vessel.health if row.parameter == name), None)
    if row is None:
        return ParameterCell(numbers.NONE, "", "", NOTHING)
    if not row.determined:
        return ParameterCell(UNDETERMINED, "", "", NOTHING)
    value, ends = numbers.estimate(row.value, row.low, row.high, row.unit, units)
    return ParameterCell(value, ends, _over_usual(row), float(f"{row.value:.6g}"))


def _over_usual(row: HealthParameter) -> str:
    ratio = row.value / row.usual
    if abs(ratio) < LEAST_SHARE:
        return f"under {LEAST_SHARE}{numbers.SPACE}×"
    return f"{numbers.number(ratio, min(numbers.decimals_for_digits(ratio, 2), 2))}{numbers.SPACE}×"


def by_cause(vessels: list[VesselScan], units: dict[str, Units]) -> HealthTable:
    """Vessels by causes. A cause that a vessel's scan says nothing of has a dash."""
    # a vessel after the other: one that is kept in a file is read once
    told = [{slug: _cause_cell(vessel, slug, units[vessel.id]) for slug in CAUSES} for vessel in vessels]
    shown = [slug for slug in CAUSES if any(cells[slug].text != numbers.NONE for cells in told)]
    return HealthTable(
        tuple(words.cause(slug, None) for slug in shown),
        tuple(
            HealthLine(vessel.id, tuple(cells[slug] for slug in shown))
            for vessel, cells in zip(vessels, told, strict=True)
        ),
    )


def _cause_cell(vessel: VesselScan, slug: str, units: Units) -> HealthCell:
    there = [row for row in comparison.running(vessel) if row.cause == slug]
    if there:
        largest = max(abs(row.magnitude.value) for row in there)
        return HealthCell("; ".join(_found(row, units) for row in there), found=True, key=_FIRST + largest)
    row = next((row for row in vessel.coverage if row.cause == slug), None)
    if row is None:
        return HealthCell(numbers.NONE, found=False, key=NOTHING)
    if not row.visible or row.smallest is None:
        return HealthCell("not visible", found=False, key=-1.0)
    smallest = numbers.amount(row.smallest, CAUSES[slug].unit, units)
    return HealthCell(f"under {smallest}", found=False, key=float(f"{row.smallest:.6g}"))


def _found(row: Incident, units: Units) -> str:
    """The size alone, since the line names the cause; a sensor's says which."""
    who = "" if row.role is None else f"{words.feature(row.role)} "
    doubtful = "" if is_told(row) else f" ({words.UNTOLD})"
    return who + words.size(row, units) + doubtful
