"""Vessels side by side for the fleet analyst."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import pandas as pd

from sevenppb.detect.causes import CAUSES
from sevenppb.detect.fleet import Fleet
from sevenppb.detect.incidents.incident import FleetScan, VesselScan
from sevenppb.reports import numbers, words
from sevenppb.reports.numbers import Units
from sevenppb.reports.views.scan import Cell, period
from sevenppb.reports.views.vessel import STATES

RECENT = pd.Timedelta(days=28)
TOGETHER = 3  # vessels from which on their median means something
LARGEST = 8.0  # a panel's half height [standard uncertainties]; further out is drawn at the edge


@dataclass(frozen=True)
class SummaryRow:
    """One vessel: cells in the order of the table's heads."""

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
class CoverageLine:
    """One cause over all vessels: the smallest visible size, or why there is none."""

    cause: str
    cells: tuple[str, ...]


@dataclass(frozen=True)
class CompareView:
    """The whole page, in reading order."""

    fleet: str
    period: str
    tool: str
    lead: str
    summary: tuple[SummaryRow, ...]
    features: tuple[str, ...]
    levels: tuple[LevelRow, ...]
    panels: tuple[Panels, ...]
    vessels: tuple[str, ...]
    coverage: tuple[CoverageLine, ...]


def compare_view(scan: FleetScan, fleet: Fleet) -> CompareView:
    """All vessels of the scan, in the fleet file's order."""
    units = {row.id: Units(fleet.display, row.barometer) for row in fleet.vessels}
    scanned = [vessel for vessel in scan.vessels if not vessel.daily.empty]
    names = list(dict.fromkeys(name for vessel in scanned for name in _features(vessel)))
    return CompareView(
        fleet=scan.fleet,
        period=period(scan),
        tool=scan.tool,
        lead=words.lead(scan.incidents, len(scanned), len(scan.vessels) - len(scanned)),
        summary=tuple(_summary(vessel) for vessel in scan.vessels),
        features=tuple(words.feature(name) for name in names),
        levels=tuple(
            LevelRow(vessel.id, tuple(_level(vessel, name, units[vessel.id]) for name in names))
            for vessel in scanned
        ),
        panels=tuple(panels(scanned, name) for name in names),
        vessels=tuple(vessel.id for vessel in scanned),
        coverage=_coverage(scanned, units),
    )


def _features(vessel: VesselScan) -> list[str]:
    return [name for name in vessel.units if f"residual_{name}" in vessel.daily]


def _summary(vessel: VesselScan) -> SummaryRow:
    running = [row for row in vessel.incidents if row.ended is None and row.state != "closed"]
    first = max(running, key=lambda row: row.urgency, default=None)
    cause = words.cause(first.cause, first.role) if first else numbers.NONE
    return SummaryRow(
        (
            Cell(vessel.id, vessel.id),
            Cell(STATES[vessel.state], vessel.state),
            Cell(numbers.percent(vessel.usable), vessel.usable),
            Cell(numbers.number(vessel.hours_running, 0), vessel.hours_running),
            Cell(str(len(running)), len(running)),
            Cell(cause, cause),
            Cell(numbers.number(first.urgency if first else None, 2), first.urgency if first else -1.0),
        )
    )


def _level(vessel: VesselScan, name: str, units: Units) -> LevelCell:
    """Medians over the last four weeks of this vessel's own readings."""
    nothing = LevelCell(numbers.NONE, "", stands_out=False, key=-math.inf)
    if f"residual_{name}" not in vessel.daily:
        return nothing
    recent = vessel.daily[vessel.daily.index > vessel.daily.index[-1] - RECENT]
    observed = float(recent[f"observed_{name}"].median())
    move = float(_standard(recent, name).median())
    if not math.isfinite(observed) or not math.isfinite(move):
        return nothing
    return LevelCell(
        numbers.reading(name, observed, vessel.units[name], units),
        numbers.number(move, 1, signed=True),
        stands_out=abs(move) >= 2,
        key=round(move, 3),
    )


def _standard(daily: pd.DataFrame, name: str) -> "pd.Series[float]":
    found: pd.Series[float] = daily[f"residual_{name}"] / daily[f"band_{name}"]
    return found


def panels(scanned: list[VesselScan], name: str) -> Panels:
    """Weekly medians of every vessel's residual, with the median over all vessels where they are enough."""
    weekly = pd.DataFrame(
        {
            vessel.id: _standard(vessel.daily, name).resample("W-MON", label="left", closed="left").median()
            for vessel in scanned
            if f"residual_{name}" in vessel.daily
        }
    ).clip(-LARGEST, LARGEST)
    enough = weekly.notna().sum(axis=1) >= TOGETHER
    together = weekly.median(axis=1).where(enough)
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


def _coverage(scanned: list[VesselScan], units: dict[str, Units]) -> tuple[CoverageLine, ...]:
    """Causes by vessels. A cause that a vessel's scan says nothing of has a dash."""
    found = {(vessel.id, row.cause): row for vessel in scanned for row in vessel.coverage}
    lines = []
    for slug, cause in CAUSES.items():
        cells = []
        for vessel in scanned:
            row = found.get((vessel.id, slug))
            if row is None:
                cells.append(numbers.NONE)
            elif not row.visible:
                cells.append("not visible")
            else:
                cells.append(numbers.amount(row.smallest, cause.unit, units[vessel.id]))
        if any(cell != numbers.NONE for cell in cells):
            lines.append(CoverageLine(words.cause(slug, None), tuple(cells)))
    return tuple(lines)
