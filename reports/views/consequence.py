"""What an incident has done in its last weeks: outlet oxygen against its limit, steam, money, the shell's pressure."""

import math

import numpy as np
import pandas as pd

from sevenppb.detect.balance.health import DIRECT
from sevenppb.detect.causes import CAUSES
from sevenppb.detect.fleet import Cost
from sevenppb.detect.incidents.ends import RECENT
from sevenppb.detect.incidents.incident import Evidence, Incident
from sevenppb.detect.physics import steam
from sevenppb.reports import numbers, words
from sevenppb.reports.numbers import Units
from sevenppb.reports.views.series import within

KG_H = 3600.0  # in a kg/s
SMALLEST_EXCESS = 0.05  # ppb; less would be shown as none
LOW = 0.1  # share of the last days on which the shell's pressure was lower than is told: high load is seldom
STARVED = 1.0  # K of boiling temperature, from which on a fall of shell pressure is told: common practice, no source


def over(daily: pd.DataFrame, incident: Incident, limit: float) -> "pd.Series[float]":
    """How far outlet oxygen was over its `limit` [ppb], less than zero where it was below, for those of the incident's
    days on which it was read."""
    if "observed_outlet_oxygen" not in daily:
        return pd.Series(dtype=float)
    return daily["observed_outlet_oxygen"][within(daily, incident)].dropna() - limit


def limit(incident: Incident, until: pd.Timestamp | None, oxygen: "pd.Series[float]") -> str:
    """When the limit is reached, or why no day is told; on some days `oxygen` may have been over it, which is told of a
    change that has to do with it."""
    told = words.to_limit(incident, until)
    if told is not None:
        return told
    above = oxygen.index[oxygen > 0.0]
    if len(above) and _raises_oxygen(incident) is not False:
        days = f"{len(above)} of {words.count(len(oxygen), 'day')} since the onset"
        last = words.day(above[-1])
        if _excess(incident) is not None:
            return f"outlet oxygen was over it on {days}, last on {last}"
        when = "is on average lately" if incident.ended is None else "was on average in its last weeks"
        return f"outlet oxygen {when} not over it, though it was on {days}, last on {last}"
    if _excess(incident) is not None and _raises_oxygen(incident) is False and incident.role is None:
        verb, had = ("is", "has") if incident.ended is None else ("was", "had")
        return f"outlet oxygen {verb} on average over it, though it {had} not risen with this change"
    why = _not_projected(incident)
    return "not in sight within a year" if why is None else f"not projected: {why}"


def _raises_oxygen(incident: Incident) -> bool | None:
    """Whether the change raises outlet oxygen, by its cause or, where that is no sensor, as read; or the analyser hides
    some. None where no reading could tell."""
    row = _judged(incident, "outlet_oxygen")
    if row is None:
        return None
    found = row.observed - row.expected
    if incident.cause == "unexplained":
        move = found
    elif incident.role == row.feature:  # what it shows too little is there
        move = -row.predicted
    elif incident.role is not None:
        move = row.predicted
    else:
        move = float(np.nanmax([found, row.predicted])) + _by_inlet(incident, row)
    return move >= words.CLEAR * abs(found / row.z)


def _by_inlet(incident: Incident, outlet: Evidence) -> float:
    """What a change of the inlet's oxygen adds at the outlet [ppb]: what is expected there is for inlet oxygen as read,
    and goes up with it in proportion."""
    row = _judged(incident, "inlet_oxygen")
    if row is None or DIRECT.get(CAUSES[incident.cause].parameter or "") != row.feature:
        return 0.0
    return outlet.expected * (1.0 - row.expected / row.observed)


def _judged(incident: Incident, feature: str) -> Evidence | None:
    """The evidence of a feature, where its move and that move's standard error can be told."""
    row = next((row for row in incident.evidence if row.feature == feature), None)
    return None if row is None or not math.isfinite(row.z) or row.z == 0.0 else row


def _not_projected(incident: Incident) -> str | None:
    """Why no day is told on which the limit is reached; None where it is looked for."""
    if incident.ended is not None:
        return "the incident has ended"
    if CAUSES[incident.cause].parameter is None:
        return "no health of the vessel is known to have moved"
    if incident.consequence.oxygen_excess_ppb is None:
        return "outlet oxygen is not recorded"
    if _raises_oxygen(incident) is False:
        return "outlet oxygen has not risen with it, nor should it by the balance"
    return None


def _excess(incident: Incident) -> float | None:
    """Outlet oxygen over its limit in the incident's last weeks [ppb]; None where it is not, or not known."""
    excess = incident.consequence.oxygen_excess_ppb
    return None if excess is None or not excess >= SMALLEST_EXCESS else excess


def told(
    daily: pd.DataFrame, incident: Incident, oxygen: "pd.Series[float]", cost: Cost | None, units: Units
) -> str:
    """Oxygen over the limit, steam lost, money, a starved shell: only what there is, in the incident's last weeks.
    `oxygen`: as `over` gives it."""
    if incident.cause == "sensor-stuck" and incident.role is not None:
        return f"what {words.feature(incident.role)} really was, is not known"
    found = incident.consequence
    parts = []
    excess = _excess(incident)
    if excess is not None:
        parts.append(f"outlet oxygen {numbers.number(excess, 1)} ppb over its limit{_added(incident)}")
    elif (at_times := _at_times(incident, oxygen)) is not None:
        parts.append(at_times)
    if math.isfinite(found.steam_lost_kg_h) and found.steam_lost_kg_h > 0:
        lost = f"{numbers.amount(found.steam_lost_kg_h, 'kg/h', units)} steam lost"
        ran = "" if incident.ended is None else " while it ran"
        parts.append(lost + ran + _unseen(incident) + _price(found.cost_per_year, cost))
    is_open = "is" if incident.ended is None else "was"
    if found.valve_open is not None:
        wide = numbers.percent(found.valve_open)
        parts.append(f"the steam valve {is_open} {wide} open at high load, with little left of its travel")
    if (starved := _starved(daily, incident, units)) is not None:
        parts.append(starved)
    if parts:
        return "; ".join(parts)
    if found.oxygen_excess_ppb is None:
        return "no steam lost; outlet oxygen is not recorded"
    return "none in its last weeks: outlet oxygen on average not over its limit, no steam lost"


def _at_times(incident: Incident, oxygen: "pd.Series[float]") -> str | None:
    """Said of a change that raises oxygen over the limit on days that an average hides; None where there are none."""
    is_known = incident.consequence.oxygen_excess_ppb is not None and incident.role is None
    if not is_known or not oxygen.max() >= SMALLEST_EXCESS or not _raises_oxygen(incident):
        return None
    most = numbers.number(oxygen.max(), 1)
    return f"outlet oxygen over its limit on some days since the onset, by up to {most} ppb"


def _price(money: float | None, cost: Cost | None) -> str:
    if money is None or not math.isfinite(money) or cost is None:
        return ""
    return f", {numbers.money(money)} {cost.currency} a year at that rate"


def _starved(daily: pd.DataFrame, incident: Incident, units: Units) -> str | None:
    """How far the shell's pressure, and the water's temperature with it, fell on the lowest of the last days, where the
    cause is one that can leave the shell short of steam; None where they did not."""
    if not CAUSES[incident.cause].starves or not {"shell_over_air", "storage_temperature"} <= set(daily):
        return None
    read = daily[["shell_over_air", "storage_temperature"]].dropna()
    before = read[read.index < incident.onset_interval[0]].iloc[-RECENT:]
    lately = read[within(read, incident)].iloc[-RECENT:]
    if before.empty or lately.empty:
        return None
    (usual, warm), (low, cool) = before.median(), lately.quantile(LOW)
    pressures = [pressure + units.barometer for pressure in (usual, low)]
    boiling = [float(steam.saturation_temperature(pressure)) for pressure in pressures]
    if boiling[0] - boiling[1] < STARVED:
        return None
    was, down = (numbers.reading("shell_pressure", pressure, "Pa", units) for pressure in pressures)
    hot, cold = (numbers.reading("storage_temperature", value, "degC", units) for value in (warm, cool))
    verb = "is" if incident.ended is None else "was"
    return (
        f"shell pressure {verb} down to {down} on its lowest days, from {was} before, "
        f"and the water to {cold}, from {hot}"
    )


def _unseen(incident: Incident) -> str:
    """Said of a loss that follows from the cause, where the measured steam flow rose clearly less than half of it."""
    row = _judged(incident, "steam_flow")
    if row is None:
        return ""
    lost, found = incident.consequence.steam_lost_kg_h / KG_H, row.observed - row.expected
    missing = words.missing(lost, found, abs(found / row.z))
    return " (by the cause; the measured steam flow does not show it)" if missing else ""


def _added(incident: Incident) -> str:
    """What the change adds to oxygen that was over its limit already before; a wrong reading adds none."""
    added = incident.consequence.oxygen_added_ppb
    if added is None or incident.role is not None:
        return ""
    much = f"{numbers.number(added, 1)} ppb" if added >= SMALLEST_EXCESS else "nothing"
    return f" (the change adds {much})"
