"""One vessel: readings → ranked incidents, the steps in order."""

import numpy as np
import pandas as pd

from sevenppb.detect import baseline as baselines
from sevenppb.detect import baseline_doubt, features, lending
from sevenppb.detect import vessel_steps as steps
from sevenppb.detect.balance import meters
from sevenppb.detect.baseline import Baseline
from sevenppb.detect.daily_table import daily_table
from sevenppb.detect.diagnosis import coverage as coverages
from sevenppb.detect.expected import Days
from sevenppb.detect.features import WATCHED
from sevenppb.detect.fleet import Cost, Vessel
from sevenppb.detect.incidents import build
from sevenppb.detect.incidents.baseline_health import baseline_health
from sevenppb.detect.incidents.incident import Coverage, Incident, VesselScan
from sevenppb.detect.limits import LIMITS
from sevenppb.detect.quality.readings import Readings
from sevenppb.detect.quality.steady import load_role
from sevenppb.detect.roles import REQUIRED
from sevenppb.detect.seasonal import pool
from sevenppb.detect.seasonal.lent import Lent
from sevenppb.detect.settings import DEFAULTS, Settings
from sevenppb.detect.shown import SHOWN
from sevenppb.detect.vessel_steps import Found

WORTH_A_NOTE = 1.1  # thresholds so many times as high as theory's are told


def scan_vessel(
    vessel: Vessel,
    readings: Readings,
    cost: Cost | None = None,
    settings: Settings = DEFAULTS,
    lent: tuple[Lent, ...] = (),
) -> VesselScan:
    """What one vessel's readings say, beside what others have `lent` of their seasons. Never looks at a clock, a file
    or another vessel."""
    hourly = readings.hourly
    marks = steps.hour_marks(vessel, readings, settings)
    steady = ~marks.any(axis=1)
    days_steady = _days_with(steady, settings)
    if len(days_steady) < settings.min_baseline_days + 1:
        return _too_little(vessel, readings, marks, f"{len(days_steady)} days of steady running")
    healthy = baselines.choose_baseline(vessel, days_steady, settings)
    inside = int(((days_steady >= healthy.start) & (days_steady < healthy.end)).sum())
    if inside < settings.min_baseline_days:
        return _too_little(vessel, readings, marks, f"{inside} days of steady running in the baseline")

    days, assumed = steps.residual_days(vessel, readings, marks, (healthy.start, healthy.end), settings, lent)
    found = steps.find_episodes(vessel, readings, days, settings)

    setting = build.Setting(vessel.id, _limits(vessel), cost)
    incidents = [build.from_episode(days, episode, setting) for episode in found.episodes]
    patience = pd.Timedelta(days=settings.stuck_days)
    incidents += [
        build.from_stuck(s, setting, patience, hourly.index[-1])
        for s in readings.stuck
        if s.end - s.start >= patience and s.end >= healthy.end
    ]
    return VesselScan(
        id=vessel.id,
        state="scanned",
        error=None,
        readings=readings.total,
        usable=float(steady.sum() / max(len(steady), 1)),
        hours_running=float((~marks["standing"] & ~marks["no reading"]).sum()),
        span=(hourly.index[0], hourly.index[-1]),
        baseline=(healthy.start, healthy.end),
        coverage=_coverage(days, found),
        notes=(
            *_notes(readings, assumed, healthy, days),
            *_borrowed(days, pool.known(lent, (healthy.start, healthy.end))),
            *_raised(found.search.raised),
            *baseline_doubt.doubts(days, _limits(vessel)),
            *_meter_notes(vessel, hourly[steady]),
        ),
        incidents=build.ranked(incidents),
        daily=daily_table(days, found.search, found.signed, found.episodes),
        units={f: WATCHED[f].unit for f in days.features} | {name: row.unit for name, row in SHOWN.items()},
        tally=readings.tally,
        marks={str(name): int(column.sum()) for name, column in marks.items()} | {"used": int(steady.sum())},
        health=baseline_health(days.fitted),
        lent=lending.lent(vessel.id, days, found.work, healthy),
    )


def _days_with(steady: pd.Series, settings: Settings) -> pd.DatetimeIndex:
    count = steady.groupby(pd.DatetimeIndex(steady.index).floor("D")).sum()
    return pd.DatetimeIndex(count.index[count >= settings.min_hours_per_day])


def _limits(vessel: Vessel) -> dict[str, float]:
    return {name: limit.value for name, limit in LIMITS.items()} | vessel.limits


def _coverage(days: Days, found: Found) -> tuple[Coverage, ...]:
    watch = found.search
    rows = coverages.coverage(
        days, watch.white, found.signed, found.every, watch.lengths, watch.charts, watch.correlation
    )
    return tuple(
        Coverage(row.cause, row.smallest is not None, row.smallest, row.confusable_with, row.missing_roles)
        for row in rows
    )


def _notes(readings: Readings, assumed: tuple[str, ...], healthy: Baseline, days: Days) -> tuple[str, ...]:
    notes = [f"baseline {healthy.start:%Y-%m-%d} to {healthy.end - baselines.DAY:%Y-%m-%d}: {healthy.why}"]
    if not (days.hours[days.index >= healthy.end] > 0).any():
        notes.append(
            "nothing is watched yet: the readings end within the baseline. A shorter one in the fleet file "
            '(baseline = "60 days") lets the watch begin sooner'
        )
    if days.fitted.undetermined:
        words = ", ".join(name.replace("_", " ") for name in days.fitted.undetermined)
        notes.append(f"these tags don't determine {words}: usual values are used")
    return (*readings.notes, *assumed, *notes)


def _borrowed(days: Days, lent: tuple[Lent, ...]) -> tuple[str, ...]:
    season = pool.pooled(lent)
    borrowing = [WATCHED[f].label for f in days.features if f in season]
    if not borrowing:
        return ()
    lenders = ", ".join(one.vessel for one in lent)
    return (
        f"the baseline has not seen a year: the season of {', '.join(borrowing)} is expected as on {lenders}",
    )


def _meter_notes(vessel: Vessel, steady: pd.DataFrame) -> tuple[str, ...]:
    barometer = features.barometer_of(steady, vessel)
    return meters.notes(meters.reconciled_daily(steady, barometer, vessel.vent_bore))


def _raised(raised: float) -> tuple[str, ...]:
    if raised < WORTH_A_NOTE:
        return ()
    return (
        f"thresholds are {100 * (raised - 1):.0f} % higher than for usual noise: the baseline's own days swing "
        "longer than that, so drifts are found later; a longer baseline may help",
    )


def _too_little(vessel: Vessel, readings: Readings, marks: pd.DataFrame, what: str) -> VesselScan:
    steady = ~marks.any(axis=1)
    hourly = readings.hourly
    useless = [role for role in REQUIRED if not readings.count[role].any()]
    seldom = _seldom_stored(vessel, readings)
    above = hourly.get("shell_pressure", pd.Series(dtype=float)) - features.barometer_of(hourly, vessel)
    sentence = f"{vessel.id}: too little data: {what}; "
    if above.median() < 0.0:
        sentence += (
            "shell pressure reads below the barometer's in most hours: look whether the tag's unit is gauge or "
            "absolute, or export a span with the vessel running; vacuum deaerators are not covered."
        )
    elif useless:
        sentence += (
            f"no reading of {' nor of '.join(useless)} can be used: look at the tag and how it is exported."
        )
    elif seldom:
        sentence += (
            f"too seldom stored: {', '.join(seldom)}; export them at even times, every 30 minutes or more often, with "
            "the value that holds then."
        )
    else:
        why = marks.sum().sort_values(ascending=False)
        most = f" (most for: {why.index[0]}, {why.iloc[0]} of {len(marks)})" if why.max() > 0 else ""
        sentence += f"export a longer span, or look why hours were cut{most}."
    return VesselScan(
        id=vessel.id,
        state="too-little-data",
        error=sentence,
        readings=readings.total,
        usable=float(steady.sum() / max(len(steady), 1)),
        hours_running=float((~marks.get("standing", False) & ~marks["no reading"]).sum()),
        span=(hourly.index[0], hourly.index[-1]) if len(hourly) else None,
        baseline=None,
        coverage=(),
        notes=readings.notes,
        incidents=(),
        daily=pd.DataFrame(index=pd.DatetimeIndex([], tz="UTC")),
        units={},
        tally=readings.tally,
        marks={str(name): int(column.sum()) for name, column in marks.items()} | {"used": int(steady.sum())},
        health=(),
    )


def _seldom_stored(vessel: Vessel, readings: Readings) -> list[str]:
    """The tags without which no hour counts, if most hours between their first and last value have none: each with how
    often it is stored."""
    load = load_role(readings.hourly)
    told = []
    for role in (*REQUIRED, *([load] if load else [])):
        filled = np.flatnonzero(readings.count[role])
        span = filled[-1] - filled[0] + 1 if len(filled) else 0
        if len(filled) < span / 2:
            told.append(f"{role} ({vessel.tags[role].tag}) once in {span / len(filled):.0f} hours")
    return told


def all_incidents(vessels: tuple[VesselScan, ...]) -> tuple[Incident, ...]:
    """Incidents over all vessels by rank; each vessel's ids stay."""
    return build.ranked([incident for vessel in vessels for incident in vessel.incidents])
