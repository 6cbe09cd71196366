"""One vessel: readings → ranked incidents, the steps in order."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from sevenppb.detect import baseline as baselines
from sevenppb.detect import baseline_doubt, expected, features
from sevenppb.detect.balance import conditions, meters
from sevenppb.detect.baseline import Baseline
from sevenppb.detect.causes import CAUSES
from sevenppb.detect.diagnosis import coverage as coverages
from sevenppb.detect.diagnosis import likelihood, search, signatures
from sevenppb.detect.diagnosis.search import Break, Search
from sevenppb.detect.diagnosis.signatures import Instruments, Signatures
from sevenppb.detect.expected import Days
from sevenppb.detect.features import WATCHED
from sevenppb.detect.fleet import Cost, Vessel
from sevenppb.detect.incidents import build, episodes
from sevenppb.detect.incidents.baseline_health import baseline_health
from sevenppb.detect.incidents.incident import Coverage, Incident, VesselScan
from sevenppb.detect.limits import LIMITS
from sevenppb.detect.quality.readings import Readings
from sevenppb.detect.quality.steady import load_role, steady_marks
from sevenppb.detect.reporting import daily_table
from sevenppb.detect.roles import REQUIRED
from sevenppb.detect.settings import DEFAULTS, Settings
from sevenppb.detect.shown import SHOWN

WORTH_A_NOTE = 1.1  # thresholds so many times as high as theory's are told


def scan_vessel(
    vessel: Vessel, readings: Readings, cost: Cost | None = None, settings: Settings = DEFAULTS
) -> VesselScan:
    """What one vessel's readings say. Never looks at a clock, a file or another vessel."""
    hourly = readings.hourly
    barometer = features.barometer_of(hourly, vessel)
    marks = steady_marks(hourly, barometer, settings)
    steady = ~marks.any(axis=1)
    days_steady = _days_with(steady, settings)
    if len(days_steady) < settings.min_baseline_days + 1:
        return _too_little(vessel, readings, marks, f"{len(days_steady)} days of steady running")
    healthy = baselines.choose_baseline(vessel, days_steady, settings)
    inside = int(((days_steady >= healthy.start) & (days_steady < healthy.end)).sum())
    if inside < settings.min_baseline_days:
        return _too_little(vessel, readings, marks, f"{inside} days of steady running in the baseline")

    seen = features.observed(hourly, barometer, vessel).drop(columns=load_role(hourly) or "", errors="ignore")
    at, assumed = conditions.conditions_of(hourly, barometer)
    days = expected.daily(seen, at, steady, (healthy.start, healthy.end), settings)
    roles = frozenset(hourly.columns[hourly.notna().any()])
    instruments = Instruments(roles, load_role(hourly), days.swing)
    everything = signatures.signatures(days.at, days.fitted.health, _all_features(), instruments)
    signed = everything.only([_all_features().index(f) for f in days.features])
    work = _breaks(vessel, days, signed)
    patterns = likelihood.patterns_of(days, instruments)
    credible = episodes.judge(days, patterns, settings)
    found = search.search(days, signed, work, settings, credible)
    told = episodes.episodes(days, found, patterns, work, settings)

    setting = build.Setting(vessel.id, _limits(vessel), cost)
    incidents = [build.from_episode(days, episode, setting) for episode in told]
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
        coverage=_coverage(days, signed, everything, found),
        notes=(
            *_notes(readings, assumed, healthy, days, vessel),
            *_raised(found),
            *baseline_doubt.doubts(days, _limits(vessel)),
            *meters.notes(meters.reconciled_daily(hourly[steady], barometer[steady], vessel.vent_bore)),
        ),
        incidents=build.ranked(incidents),
        daily=daily_table(days, found, signed, told),
        units={f: WATCHED[f].unit for f in days.features} | {name: row.unit for name, row in SHOWN.items()},
        tally=readings.tally,
        marks={str(name): int(column.sum()) for name, column in marks.items()} | {"used": int(steady.sum())},
        health=baseline_health(days.fitted),
    )


def _days_with(steady: pd.Series, settings: Settings) -> pd.DatetimeIndex:
    count = steady.groupby(pd.DatetimeIndex(steady.index).floor("D")).sum()
    return pd.DatetimeIndex(count.index[count >= settings.min_hours_per_day])


def _breaks(vessel: Vessel, days: Days, signed: Signatures) -> tuple[Break, ...]:
    """Work done starts a fresh level in every feature that what it resets can move."""
    out = []
    for work in vessel.work:
        touched = np.zeros(len(days.features), dtype=bool)
        for reset in work.resets:
            touched |= _touched(reset, days.features, signed)
        day = int(days.index.searchsorted(work.date.floor("D")))
        if 0 < day < len(days.index):
            out.append(Break(day, touched))
    return tuple(out)


def _touched(reset: str, watched: tuple[str, ...], signed: Signatures) -> NDArray[np.bool_]:
    if reset == "all":
        return np.ones(len(watched), dtype=bool)
    natural = np.array([WATCHED[f].natural for f in watched])
    out = np.zeros(len(watched), dtype=bool)
    for j, candidate in enumerate(signed.candidates):
        sensor = candidate.role is not None and reset == f"sensor:{candidate.role}"
        if sensor or (candidate.role is None and CAUSES[candidate.cause].resets == reset):
            out |= abs(np.nanmean(signed.moves[:, :, j], axis=0)) > 0.1 * natural
    return out


def _limits(vessel: Vessel) -> dict[str, float]:
    return {name: limit.value for name, limit in LIMITS.items()} | vessel.limits


def _coverage(days: Days, signed: Signatures, everything: Signatures, found: Search) -> tuple[Coverage, ...]:
    rows = coverages.coverage(days, signed, everything, found.lengths, found.charts, found.correlation)
    return tuple(
        Coverage(row.cause, row.smallest is not None, row.smallest, row.confusable_with, row.missing_roles)
        for row in rows
    )


def _all_features() -> tuple[str, ...]:
    """Levels first, then swings: the order that signatures keeps."""
    return tuple(sorted(WATCHED, key=lambda f: f.endswith(features.SWING)))


def _notes(
    readings: Readings, assumed: tuple[str, ...], healthy: Baseline, days: Days, vessel: Vessel
) -> tuple[str, ...]:
    notes = [f"baseline {healthy.start:%Y-%m-%d} to {healthy.end:%Y-%m-%d}: {healthy.why}"]
    if days.fitted.undetermined:
        words = ", ".join(name.replace("_", " ") for name in days.fitted.undetermined)
        notes.append(f"these tags don't determine {words}: usual values are used")
    return (*readings.notes, *assumed, *notes)


def _raised(found: Search) -> tuple[str, ...]:
    if found.raised < WORTH_A_NOTE:
        return ()
    return (
        f"thresholds are {100 * (found.raised - 1):.0f} % higher than for usual noise: the baseline's own days swing "
        "longer than that, so drifts are found later; a longer baseline may help",
    )


def _too_little(vessel: Vessel, readings: Readings, marks: pd.DataFrame, what: str) -> VesselScan:
    steady = ~marks.any(axis=1)
    hourly = readings.hourly
    useless = [role for role in REQUIRED if not readings.count[role].any()]
    sentence = f"{vessel.id}: too little data: {what}; "
    if useless:
        sentence += (
            f"no reading of {' nor of '.join(useless)} can be used: look at the tag and how it is exported."
        )
    else:
        sentence += "export a longer span, or check why hours were cut (see the table of marks)."
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
    )


def all_incidents(vessels: tuple[VesselScan, ...]) -> tuple[Incident, ...]:
    """Incidents over all vessels by rank; each vessel's ids stay."""
    return build.ranked([incident for vessel in vessels for incident in vessel.incidents])
