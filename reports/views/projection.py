"""The way to the limit: outlet oxygen as read, and as it goes on should the health parameter go on as it went."""

from dataclasses import dataclass

import pandas as pd

from sevenppb.detect.incidents.incident import Incident, VesselScan
from sevenppb.reports import numbers, words
from sevenppb.reports.numbers import Units
from sevenppb.reports.views.series import Mark

FEATURE = "outlet_oxygen"
BEFORE = pd.Timedelta(days=120)  # before the last reading, of what is drawn as read
ROOM = 1.6  # of the limit or, where it is higher, the highest reading: what lies further up is not drawn


@dataclass(frozen=True)
class Ahead:
    """One coming day: projected, and the ends of its 90 % interval [unit]."""

    day: str
    value: float
    low: float
    high: float


@dataclass(frozen=True)
class ProjectionChart:
    """Read days (day, value) and coming weeks [unit], up to `top`. `reached` is the day on which the limit is reached
    and `interval` its 90 % interval, cut at the last day drawn; None where it is not reached in sight, or already
    was."""

    title: str
    alt: str
    unit: str
    read: tuple[tuple[str, float], ...]
    ahead: tuple[Ahead, ...]
    limit: float
    top: float
    reached: Mark | None
    interval: Mark | None


def projection_chart(
    vessel: VesselScan, incident: Incident, limits: dict[str, float], units: Units
) -> ProjectionChart | None:
    """None where nothing is projected, or the limit is not reached in sight."""
    path = incident.projection
    if not path or incident.limit_reached is None or f"observed_{FEATURE}" not in vessel.daily:
        return None
    shown = numbers.scale(FEATURE, "ppb", units)
    limit = limits[FEATURE] * shown.factor
    first, last = path[0].day - BEFORE, path[0].day
    recent = vessel.daily.loc[first:last, f"observed_{FEATURE}"].dropna() * shown.factor
    decimals = numbers.places(FEATURE, shown, limit) + 1
    ahead = tuple(
        Ahead(_iso(row.day), *(round(v * shown.factor, decimals) for v in (row.value, row.low, row.high)))
        for row in path
    )
    reached, interval = _marks(incident, last, path[-1].day)
    return ProjectionChart(
        title="Outlet oxygen, past its limit" if reached is None else "Outlet oxygen on its way to the limit",
        alt=_alt(vessel, incident, limits[FEATURE], path[-1].day, units),
        unit=shown.label,
        read=tuple(
            (_iso(day), round(float(value), decimals))
            for day, value in zip(pd.DatetimeIndex(recent.index), recent, strict=True)
        ),
        ahead=ahead,
        limit=round(limit, decimals),
        top=round(ROOM * max([limit, ahead[0].value, *recent.quantile([0.98]).dropna()]), decimals),
        reached=reached,
        interval=interval,
    )


def _marks(incident: Incident, last: pd.Timestamp, end: pd.Timestamp) -> tuple[Mark | None, Mark | None]:
    found = incident.limit_reached
    if found is None or found.at <= last:
        return None, None
    reached = Mark("limit reached", _iso(found.at), _iso(found.at))
    if found.low is None:
        return reached, None
    late = end if found.high is None else min(found.high, end)
    return reached, Mark("90 % interval", _iso(found.low), _iso(late))


def _alt(vessel: VesselScan, incident: Incident, limit: float, end: pd.Timestamp, units: Units) -> str:
    assert incident.limit_reached is not None  # or there would be no chart
    said = words.limit(incident.limit_reached, incident.projection[0].day)
    value = numbers.reading(FEATURE, incident.projection[-1].value, "ppb", units)
    at = numbers.reading(FEATURE, limit, "ppb", units)
    return (
        f"Outlet oxygen at {vessel.id} as read and as projected to {words.day(end)}, there {value}; "
        f"limit {at}; {said}."
    )


def _iso(moment: pd.Timestamp) -> str:
    return moment.strftime("%Y-%m-%d")
