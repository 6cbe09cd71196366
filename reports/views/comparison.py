"""The comparison as a table of numbers: a row a vessel, in the units used inside."""

import math

import numpy as np
import pandas as pd

from sevenppb.detect import shown
from sevenppb.detect.fleet import Fleet
from sevenppb.detect.incidents.incident import FleetScan, Incident, VesselScan
from sevenppb.reports.views import peers

RECENT = pd.Timedelta(days=28)
SEASON = pd.Timedelta(days=90)
EQUAL = 0.1  # of the common load, to either side, that counts as equal
FEWEST = 5  # days at equal load from which a median is told
COLUMNS = (
    "vessel", "state", "usable", "hours_running", "incidents_running", "most_urgent", "urgency", "load_share",
    "subcooling_at_equal_load", "outlet_oxygen_at_equal_load", "vent_loss_share", "steam_lost_kg_h", "cost_per_year",
)  # fmt: skip
AT_EQUAL_LOAD = ("subcooling", "outlet_oxygen")


def running(vessel: VesselScan) -> list[Incident]:
    """The incidents that have neither ended nor been closed, most urgent first."""
    found = [row for row in vessel.incidents if row.ended is None and row.state != "closed"]
    return sorted(found, key=lambda row: -row.urgency)


def features(vessel: VesselScan) -> list[str]:
    """The watched features that the vessel has."""
    return [name for name in vessel.units if f"residual_{name}" in vessel.daily]


def compared(scan: FleetScan, fleet: Fleet) -> pd.DataFrame:
    """A row a vessel, in the fleet file's order; NaN where a vessel's readings do not tell.

    load_share               median of the last 90 days' water flow over the capacity, or over the usual flow
    <feature>_at_equal_load  median of the last 90 days' readings within 10 % of the fleet's median load share
    vent_loss_share          vent loss over water flow, median of the last 90 days [kg/kg]; none where it would be
                             below zero, which tells only that the meters don't agree
    steam_lost_kg_h, cost_per_year    sums over the running incidents
    health_<parameter>, _low, _high, _determined    at the baseline [inside unit], with a 90 % interval; an
                             undetermined one stays at its prior
    <feature>, <feature>_move         the last 28 days' median [inside unit] and its residual [standard uncertainties]
    """
    capacity = {row.id: row.capacity for row in fleet.vessels}
    shares = {vessel.id: _load_share(vessel, capacity[vessel.id]) for vessel in scan.vessels}
    usual = [float(share.median()) for share in shares.values() if share.notna().any()]
    load = float(np.median(usual)) if usual else math.nan
    rows = []
    for vessel in scan.vessels:
        share = shares[vessel.id]
        there = running(vessel)
        costs = [row.consequence.cost_per_year for row in there]
        known = [cost for cost in costs if cost is not None]
        row: dict[str, object] = {
            "vessel": vessel.id,
            "state": vessel.state,
            "usable": vessel.usable,
            "hours_running": vessel.hours_running,
            "incidents_running": len(there),
            "most_urgent": there[0].cause if there else None,
            "urgency": there[0].urgency if there else math.nan,
            "load_share": float(share.median()) if share.notna().any() else math.nan,
        }
        for name in AT_EQUAL_LOAD:
            row[f"{name}_at_equal_load"] = _at(vessel, name, share, load)
        row["vent_loss_share"] = _vent_share(vessel)
        row["steam_lost_kg_h"] = sum(
            row.consequence.steam_lost_kg_h for row in there if math.isfinite(row.consequence.steam_lost_kg_h)
        )
        row["cost_per_year"] = sum(known) if known else math.nan
        for part in vessel.health:
            values = (part.value, part.low, part.high, part.determined)
            row |= dict(zip(_columns(part.parameter), values, strict=True))
        for name in features(vessel):
            row[name], row[f"{name}_move"] = recent(vessel, name)
        rows.append(row)
    parameters = dict.fromkeys(part.parameter for vessel in scan.vessels for part in vessel.health)
    names = dict.fromkeys(name for vessel in scan.vessels for name in features(vessel))
    return pd.DataFrame(
        rows,
        columns=[
            *COLUMNS,
            *(column for name in parameters for column in _columns(name)),
            *(column for name in names for column in (name, f"{name}_move")),
        ],
    )


def _columns(parameter: str) -> tuple[str, ...]:
    """A fitted parameter's columns; some share their name with a feature."""
    return tuple(f"health_{parameter}{end}" for end in ("", "_low", "_high", "_determined"))


def recent(vessel: VesselScan, name: str) -> tuple[float, float]:
    """Medians over the last four weeks: the reading [inside unit] and its residual [standard uncertainties]."""
    days = _last(vessel.daily, RECENT)
    return float(days[f"observed_{name}"].median()), float(peers.standard(days, name).median())


def _last(daily: pd.DataFrame, span: pd.Timedelta) -> pd.DataFrame:
    first: pd.Timestamp = daily.index[-1] - span
    return daily.loc[daily.index > first]


def _load_share(vessel: VesselScan, capacity: float | None) -> "pd.Series[float]":
    """The last 90 days' water flow over the capacity or, without one, over the usual flow."""
    if "flow" not in vessel.daily or vessel.daily["flow"].isna().all():
        return pd.Series(dtype=float)
    whole = capacity if capacity is not None else float(vessel.daily["flow"].median())
    share: pd.Series[float] = _last(vessel.daily, SEASON)["flow"] / whole
    return share


def _at(vessel: VesselScan, name: str, share: "pd.Series[float]", load: float) -> float:
    if f"observed_{name}" not in vessel.daily or share.empty:
        return math.nan
    readings = vessel.daily[f"observed_{name}"].reindex(share.index)
    equal = readings[(share - load).abs() <= EQUAL * load].dropna()
    return float(equal.median()) if len(equal) >= FEWEST else math.nan


def _vent_share(vessel: VesselScan) -> float:
    if "vent_loss" not in vessel.daily or "flow" not in vessel.daily:
        return math.nan
    days = _last(vessel.daily, SEASON)
    return shown.told("vent_loss", float((days["vent_loss"] / days["flow"]).median()))
