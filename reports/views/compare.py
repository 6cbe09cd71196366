"""Vessels side by side for the fleet analyst."""

import math
from collections.abc import Hashable, Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from sevenppb.detect.fleet import Cost, Fleet
from sevenppb.detect.incidents.incident import FleetScan, VesselScan
from sevenppb.reports import numbers, words
from sevenppb.reports.numbers import Units
from sevenppb.reports.views import comparison, health, peers
from sevenppb.reports.views.comparison import AT_EQUAL_LOAD
from sevenppb.reports.views.health import HealthTable, ParameterLine
from sevenppb.reports.views.scan import period
from sevenppb.reports.views.table import NOTHING, Cell, figure, word
from sevenppb.reports.views.vessel import STATES

LARGEST = 8.0  # a panel's half height [standard uncertainties]; further out is drawn at the edge


@dataclass(frozen=True)
class SummaryRow:
    """One vessel or reading: cells in the order of the table's heads."""

    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class LevelCell:
    """A feature's recent level, and its move from the expected [standard uncertainties] as text."""

    level: str
    move: str
    stands_out: bool
    key: float


@dataclass(frozen=True)
class LevelRow:
    """One vessel's recent levels, a cell a feature."""

    vessel: str
    cells: tuple[LevelCell, ...]


@dataclass(frozen=True)
class PanelSeries:
    """Weekly medians of one vessel's residual [standard uncertainties], and of all vessels together."""

    vessel: str
    weeks: tuple[str, ...]
    own: tuple[float | None, ...]
    together: tuple[float | None, ...]


@dataclass(frozen=True)
class Panels:
    """One feature over all vessels that have it."""

    title: str
    alt: str
    series: tuple[PanelSeries, ...]


@dataclass(frozen=True)
class CompareView:
    """The whole page, in reading order."""

    fleet: str
    period: str
    tool: str
    lead: str
    summary: tuple[SummaryRow, ...]
    equal_load: str
    equal: tuple[SummaryRow, ...]
    apart: tuple[SummaryRow, ...]
    common: tuple[SummaryRow, ...]
    features: tuple[str, ...]
    levels: tuple[LevelRow, ...]
    panels: tuple[Panels, ...]
    parameters: tuple[str, ...]
    baseline: tuple[ParameterLine, ...]
    health: HealthTable


def compare_view(scan: FleetScan, fleet: Fleet, table: pd.DataFrame) -> CompareView:
    """All vessels of the scan, in the fleet file's order; `table` is the comparison's."""
    units = {row.id: Units(fleet.display, row.barometer) for row in fleet.vessels}
    scanned = [vessel for vessel in scan.vessels if not vessel.daily.empty]
    names = list(dict.fromkeys(name for vessel in scanned for name in comparison.features(vessel)))
    weeks = peers.weekly(scanned, names)
    parameters = health.determined(scanned)
    shares = {row["vessel"]: row for row in table.to_dict("records")}
    return CompareView(
        fleet=scan.fleet,
        period=period(scan, fleet.timezone),
        tool=scan.tool,
        lead=words.lead(scan.incidents, len(scanned), len(scan.vessels) - len(scanned), units),
        summary=tuple(_summary(vessel) for vessel in scan.vessels),
        equal_load=_equal_load(table),
        equal=tuple(_equal(vessel, shares[vessel.id], units[vessel.id], fleet.cost) for vessel in scanned),
        apart=tuple(
            _apart(row)
            for row in sorted(
                (row for name in names for row in peers.apart(weeks[name], name)),
                key=lambda row: -abs(row.distance),
            )
        ),
        common=tuple(_common(row) for name in names for row in peers.common(weeks[name], name)),
        features=tuple(words.feature(name) for name in names),
        levels=tuple(
            LevelRow(vessel.id, tuple(_level(vessel, name, units[vessel.id]) for name in names))
            for vessel in scanned
        ),
        panels=tuple(panels(weeks[name], name) for name in names),
        parameters=tuple(health.LABELS[name] for name in parameters),
        baseline=tuple(health.at_baseline(vessel, parameters, units[vessel.id]) for vessel in scanned),
        health=health.by_cause(scanned, units),
    )


def _summary(vessel: VesselScan) -> SummaryRow:
    running = comparison.running(vessel)
    first = running[0] if running else None
    cause = words.named(first) if first else numbers.NONE
    return SummaryRow(
        (
            word(vessel.id),
            word(STATES[vessel.state]),
            figure(numbers.percent(vessel.usable), vessel.usable),
            figure(numbers.number(vessel.hours_running, 0), vessel.hours_running),
            figure(str(len(running)), len(running)),
            word(cause),
            figure(numbers.number(first.urgency if first else None, 2), first.urgency if first else None),
        )
    )


def _equal_load(table: pd.DataFrame) -> str:
    """The load at which vessels are compared, in words."""
    load = table["load_share"].median()
    return numbers.percent(float(load) if math.isfinite(load) else None)


def _equal(vessel: VesselScan, row: dict[Hashable, Any], units: Units, cost: Cost | None) -> SummaryRow:
    """One vessel at equal load, its vent loss, and what its running incidents lose."""
    vent, steam, money = row["vent_loss_share"], row["steam_lost_kg_h"], row["cost_per_year"]
    spent = numbers.NONE if cost is None else f"{numbers.money(money)} {cost.currency}" if money > 0 else "0"
    return SummaryRow(
        (
            word(row["vessel"]),
            figure(numbers.percent(row["load_share"]), row["load_share"]),
            *(_at_equal_load(vessel, name, row[f"{name}_at_equal_load"], units) for name in AT_EQUAL_LOAD),
            figure(_vent_loss(vessel, vent, units), vent),
            figure(numbers.amount(steam, "kg/h", units) if steam > 0 else "0", steam),
            figure(spent, money),
        )
    )


def _vent_loss(vessel: VesselScan, share: float, units: Units) -> str:
    """The share, or that the meters tell none where there are such that could."""
    asked = "vent_loss" in vessel.daily and vessel.daily["vent_loss"].notna().any()
    return (
        numbers.amount(share, "fraction", units)
        if math.isfinite(share) or not asked
        else "not told by these meters"
    )


def _at_equal_load(vessel: VesselScan, name: str, level: float, units: Units) -> Cell:
    """The level, or why there is none."""
    if math.isfinite(level):
        return figure(numbers.reading(name, level, vessel.units[name], units), level)
    recorded = name in comparison.features(vessel)
    return figure("too few days at that load" if recorded else "not recorded", level)


def _apart(row: peers.Apart) -> SummaryRow:
    return SummaryRow(
        (
            word(row.vessel),
            word(words.feature(row.feature)),
            figure(numbers.errors(row.distance), row.distance),
            _week(row.since),
        )
    )


def _common(row: peers.Common) -> SummaryRow:
    return SummaryRow(
        (
            word(words.feature(row.feature)),
            figure(numbers.errors(row.move), row.move),
            _week(row.first),
            _week(row.last),
        )
    )


def _week(monday: pd.Timestamp) -> Cell:
    return figure(words.day(monday), monday.timestamp())


def _level(vessel: VesselScan, name: str, units: Units) -> LevelCell:
    """Medians over the last four weeks of this vessel's own readings."""
    nothing = LevelCell(numbers.NONE, "", stands_out=False, key=NOTHING)
    if f"residual_{name}" not in vessel.daily:
        return nothing
    observed, move = comparison.recent(vessel, name)
    if not math.isfinite(observed) or not math.isfinite(move):
        return nothing
    return LevelCell(
        numbers.reading(name, observed, vessel.units[name], units),
        numbers.errors(move),
        stands_out=abs(move) >= 2,
        key=round(move, 3),
    )


def panels(weeks: pd.DataFrame, name: str) -> Panels:
    """A feature's weeks by vessel, as `peers.weekly` gives them, with the median over all vessels where they are
    enough."""
    weekly = weeks.clip(-LARGEST, LARGEST)
    together = peers.together(weekly)
    title = words.feature(name)
    return Panels(
        title=f"{title[0].upper()}{title[1:]} (standard uncertainties)",
        alt=f"{title}: weekly residuals of {words.count(len(weekly.columns), 'vessel')} in standard "
        "uncertainties, one panel each",
        series=tuple(
            PanelSeries(
                str(vessel),
                tuple(moment.strftime("%Y-%m-%d") for moment in pd.DatetimeIndex(weekly.index)),
                _rounded(weekly[vessel]),
                _rounded(together),
            )
            for vessel in weekly.columns
        ),
    )


def _rounded(values: Iterable[float]) -> tuple[float | None, ...]:
    return tuple(round(float(value), 2) if np.isfinite(value) else None for value in values)
