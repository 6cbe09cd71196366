"""One page a vessel for the operator: what the week showed, and what to check."""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import pandas as pd

from sevenppb.detect.causes import OVER_LIMIT
from sevenppb.detect.features import SWING
from sevenppb.detect.fleet import Fleet
from sevenppb.detect.incidents.incident import FleetScan, Incident, VesselScan
from sevenppb.reports import numbers, words
from sevenppb.reports.numbers import Units
from sevenppb.reports.views.checkpoints import FEATURES, Checkpoint, checkpoints, whom_to_tell
from sevenppb.reports.views.checks import cautions, checks
from sevenppb.reports.views.limits import limits_of
from sevenppb.reports.views.series import EvidenceChart, feature_chart
from sevenppb.reports.views.week import (
    AS_EXPECTED,
    HIGHER,
    NOT_JUDGED,
    ReadingRow,
    between,
    shown_row,
    watched_row,
)

DAYS_CHARTED = 84
CHARTS = 4
MOST_SENTENCES = 3
MOST_CHECKS = 5
USUAL_CHARTS = ("subcooling", "outlet_oxygen", "vent_temperature", "steam_flow")


@dataclass(frozen=True)
class DigestPage:
    """One vessel's page. `over` are the readings above their limits, expected or not; `known` are incidents that
    somebody has acknowledged; `judged` says how much of the week could be used; `rows` are the readings that stand for
    no checkpoint."""

    vessel: str
    headline: str
    over: tuple[str, ...]
    sentences: tuple[str, ...]
    more: int
    known: tuple[str, ...]
    tell: tuple[str, ...]
    judged: str
    checkpoints: tuple[Checkpoint, ...]
    rows: tuple[ReadingRow, ...]
    charts: tuple[EvidenceChart, ...]
    checks: tuple[str, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class DigestView:
    """All vessels' pages for one week."""

    fleet: str
    week: str
    tool: str
    pages: tuple[DigestPage, ...]


def week_of(moment: pd.Timestamp, timezone: str) -> tuple[pd.Timestamp, pd.Timestamp]:
    """First and last moment [UTC] of the week, Monday to Sunday in `timezone`, that holds `moment` [UTC]."""
    local = moment.tz_convert(timezone).tz_localize(None).normalize()
    monday = local - pd.Timedelta(days=local.weekday())
    start = monday.tz_localize(timezone, nonexistent="shift_forward").tz_convert("UTC")
    after = (monday + pd.Timedelta(days=7)).tz_localize(timezone, nonexistent="shift_forward")
    return start, after.tz_convert("UTC") - pd.Timedelta(microseconds=1)


def last_week(until: pd.Timestamp, timezone: str) -> tuple[pd.Timestamp, pd.Timestamp]:
    """The last week of which at most a day is missing at `until` [UTC], the last reading's time."""
    return week_of(until - pd.Timedelta(days=6), timezone)


def digest_view(scan: FleetScan, fleet: Fleet, week: tuple[pd.Timestamp, pd.Timestamp]) -> DigestView:
    """The pages of the week `week` (first and last moment, UTC)."""
    units = {row.id: Units(fleet.display, row.barometer) for row in fleet.vessels}
    limits = {row.id: limits_of(row) for row in fleet.vessels}
    first, last = (moment.tz_convert(fleet.timezone) for moment in week)
    return DigestView(
        fleet=scan.fleet,
        week=words.days(first, last),
        tool=scan.tool,
        pages=tuple(
            _page(vessel, week, limits[vessel.id], units[vessel.id], scan.until) for vessel in scan.vessels
        ),
    )


def _page(
    vessel: VesselScan,
    week: tuple[pd.Timestamp, pd.Timestamp],
    limits: dict[str, float],
    units: Units,
    until: pd.Timestamp | None,
) -> DigestPage:
    there = [row for row in vessel.incidents if _told_of(row, week)]
    running = [row for row in there if row.state != "acknowledged"]
    known = [row for row in there if row.state == "acknowledged"]
    days = between(vessel.daily, *week)
    recent = between(vessel.daily, week[1] - pd.Timedelta(days=DAYS_CHARTED), week[1])
    rows = {name: watched_row(vessel, name, week, units) for name in _features(vessel)}
    shown = {
        name: shown_row(vessel, name, week, units)
        for name in FEATURES
        if name not in rows and name in vessel.daily and vessel.baseline is not None
    }
    places = checkpoints(rows | shown)
    over = {
        name: numbers.reading(name, limit, vessel.units[name], units)
        for name, limit in limits.items()
        if name in rows and _is_over(name, rows[name].level or 0.0, limit, vessel.units[name], units)
    }
    to_tell = {name: rows[name] for name in over if running or not known}  # and not acknowledged already
    alone = [name for name in over if name in OVER_LIMIT and not there]  # no incident has checks for it
    return DigestPage(
        vessel=vessel.id,
        headline=_headline(
            vessel, running, len(known), days, (rows | shown).values(), [rows[name] for name in over]
        ),
        over=tuple(
            f"Over its limit this week: {words.feature(name)}, {rows[name].observed} (limit {limit})."
            for name, limit in over.items()
        ),
        sentences=tuple(
            f"{words.sentence(_without_limit(row, over), units, until)} ({_known_as(row, week)})"
            for row in running[:MOST_SENTENCES]
        ),
        more=max(len(running) - MOST_SENTENCES, 0),
        known=tuple(
            f"{words.title(row, units)}, {words.magnitude(row, units)}, "
            f"since {words.day(row.onset)} ({row.id})"
            for row in known
        ),
        tell=whom_to_tell(running, to_tell),
        judged=_judged(vessel, days),
        checkpoints=places,
        rows=tuple(row for row in rows.values() if row not in [point.row for point in places]),
        charts=tuple(
            feature_chart(
                recent,
                name,
                vessel.units[name],
                limits.get(name),
                units,
                alt=f"{words.feature(name)} at {vessel.id}, the last {DAYS_CHARTED // 7} weeks by day",
            )
            for name in _charted(vessel, [*running, *known])
            if recent[f"observed_{name}"].notna().any()
        ),
        checks=_unique(
            [
                *(check for row in running for check in checks(row)),
                *(check for name in alone for check in OVER_LIMIT[name][0]),
            ]
        )[:MOST_CHECKS],
        cautions=_unique(
            [
                *(caution for row in running for caution in cautions(row)),
                *(caution for name in alone for caution in OVER_LIMIT[name][1]),
            ]
        ),
    )


def _is_over(name: str, level: float, limit: float, unit: str, units: Units) -> bool:
    """Over the limit [its unit] also as both are shown."""
    return level > limit and numbers.digits_apart(name, level, limit, unit, units) > 0


def _without_limit(row: Incident, over: Iterable[str]) -> Incident:
    """Without its way to a limit that the week is `over` as it is: on which day the trend gets there is no news."""
    reached = row.limit_reached
    return replace(row, limit_reached=None) if reached is not None and reached.what in over else row


def _known_as(row: Incident, week: tuple[pd.Timestamp, pd.Timestamp]) -> str:
    """Whether it is new to the reader, its state, and the id by which notes go to it."""
    if row.first_flagged + pd.Timedelta(hours=12) >= week[0]:  # a UTC day, by its middle
        news = "new this week"
    else:
        news = f"first flagged {words.day(row.first_flagged)}"
        if row.state in ("worsening", "eased"):
            news = f"{row.state}, {news}"
    return f"{row.id}, {news}" if row.id else f"{news}; not in the register yet"


def _told_of(row: Incident, week: tuple[pd.Timestamp, pd.Timestamp]) -> bool:
    """Whether the incident was known and not over in the week."""
    over = row.state == "closed" or (row.ended is not None and row.ended < week[0])
    return row.first_flagged <= week[1] and not over


def _headline(
    vessel: VesselScan,
    running: list[Incident],
    known: int,
    days: pd.DataFrame,
    rows: Iterable[ReadingRow],
    over: list[ReadingRow],
) -> str:
    """What the week's page comes to; `rows` are all its readings, `over` those over their limits."""
    if vessel.state != "scanned":
        return f"Not judged: {vessel.error or 'too little data'}"
    if running:
        return f"{words.count(len(running), 'change')} to look at."
    if not _steady_hours(days):
        return f"Nothing{' new' if known else ''} to tell: no hour of this week could be judged."
    if over:
        return _over_limits(over, known)
    nothing = f"Nothing {'new ' if known else ''}stands out from chance, load and season"
    if not known and any(row.verdict not in (AS_EXPECTED, NOT_JUDGED) for row in rows):
        return f"{nothing}: a reading off for a week may be chance."
    return f"{nothing}."


def _over_limits(over: list[ReadingRow], known: int) -> str:
    """The headline of a week without a change to look at, in which readings are `over` their limits."""
    names = " and ".join(row.feature for row in over)
    lead = (
        f"{names[0].upper()}{names[1:]} {'is over its limit' if len(over) == 1 else 'are over their limits'}"
    )
    if known:
        return f"{lead}; nothing new stands out from chance, load and season."
    if any(row.verdict == HIGHER for row in over):
        return f"{lead} and higher than expected, which for a week may be chance."
    return f"{lead}. That is no more than this week's conditions let expect: no change, yet too much."


def _steady_hours(days: pd.DataFrame) -> float:
    return float(days["hours"].sum()) if len(days) else 0.0


def _judged(vessel: VesselScan, days: pd.DataFrame) -> str:
    """How many hours of the week were steady enough to be judged."""
    hours = _steady_hours(days)
    if hours == 0:
        return "No hour of this week could be judged: none was steady and had the readings that are needed."
    rest = "; the rest was standing, starting, moving load or without readings"
    return f"{numbers.number(hours, 0)} of the week's 168 hours were steady and were judged" + (
        f"{rest}." if hours < 168 else "."
    )


def _features(vessel: VesselScan) -> list[str]:
    """What can be read on the plant; a rise with load is for the scan's report."""
    return [name for name in vessel.units if f"observed_{name}" in vessel.daily and not name.endswith(SWING)]


def _charted(vessel: VesselScan, running: list[Incident]) -> list[str]:
    """The features that the incidents moved most, then the usual ones."""
    moved = sorted(
        (row for incident in running for row in incident.evidence if math.isfinite(row.z)),
        key=lambda row: -abs(row.z),
    )
    there = _features(vessel)
    wanted = _unique([*(row.feature for row in moved), *USUAL_CHARTS, *there])
    return [name for name in wanted if name in there][:CHARTS]


def _unique(items: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(items))
