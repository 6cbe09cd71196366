"""One vessel's ground, and the trials on it: copy, fault, scan."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from sevenppb.detect import features, vessel_scan
from sevenppb.detect.balance import conditions, fit
from sevenppb.detect.balance.health import Health
from sevenppb.detect.causes import CAUSES
from sevenppb.detect.diagnosis import coverage, magnitude, signatures
from sevenppb.detect.diagnosis.signatures import Candidate, Instruments
from sevenppb.detect.fleet import Vessel
from sevenppb.detect.incidents.incident import Incident, VesselScan
from sevenppb.detect.proof import copies, faults, sizes
from sevenppb.detect.proof.copies import Original
from sevenppb.detect.proof.faults import Fault
from sevenppb.detect.proof.records import CauseProof, Trial
from sevenppb.detect.quality.readings import Readings
from sevenppb.detect.quality.steady import load_role, steady_marks
from sevenppb.detect.settings import Settings

WATCHED_DAYS = 150
FIRST_DAYS = (10.0, 30.0)  # of the watch, between which a fault begins
WITHIN_DAYS = 120  # after the onset, within which it counts as found
SIZES = (0.125, 4.0)  # smallest and largest size tried, in the signature's steps
DAY = pd.Timedelta(days=1)
SENSOR = "sensor-drift"
SENSOR_UNIT = "usual drifts"


@dataclass(frozen=True)
class Ground:
    """What the trials of one vessel stand on: its place in the fleet (from 0; it chooses the draws), the
    baseline's readings, the healthy state fitted to them, and the candidates of each cause that can be
    tried."""

    number: int
    whole: Original
    health: Health
    tried: dict[str, tuple[Candidate, ...]]


def ground(
    number: int, vessel: Vessel, readings: Readings, scanned: VesselScan, settings: Settings
) -> Ground:
    """The ground on the baseline that the vessel's own scan chose; causes that it can't see are not tried."""
    if scanned.baseline is None:
        raise ValueError(f"{vessel.id} has no baseline")
    whole = copies.original(vessel, readings, *scanned.baseline)
    hourly = whole.readings.hourly
    barometer = features.barometer_of(hourly, vessel)
    steady = ~steady_marks(hourly, barometer, settings).any(axis=1).to_numpy()
    at, _ = conditions.conditions_of(hourly, barometer)
    load = load_role(hourly)
    seen = features.observed(hourly, barometer, vessel).drop(columns=load or "", errors="ignore")
    health = fit.fit_health(at, seen, steady).health
    instruments = Instruments(frozenset(hourly.columns[hourly.notna().any()]), load, 0.0)
    one = fit.take(at, np.flatnonzero(steady)[:1])
    candidates = signatures.signatures(one, health, ("subcooling",), instruments).candidates
    visible = {row.cause for row in scanned.coverage if row.visible} | {SENSOR}
    tried: dict[str, tuple[Candidate, ...]] = {}
    for candidate in candidates:
        if candidate.cause in visible:
            tried[candidate.cause] = (*tried.get(candidate.cause, ()), candidate)
    return Ground(number, whole, health, tried)


def false_incidents(on: Ground, trials: int, seed: int, settings: Settings) -> int:
    """Incidents that the scan raises on the copies without any fault."""
    return sum(len(_scanned(on, _copy(on, k, seed), settings)) for k in range(trials))


def cause_proof(on: Ground, cause: str, trials: int, seed: int, settings: Settings) -> CauseProof:
    """Trials of one cause, their sizes spread evenly over SIZES on a logarithmic scale."""
    low, high = np.log(SIZES)
    done: list[tuple[float, Trial]] = []
    for k in range(trials):
        rng = _generator(on, 1 + list(CAUSES).index(cause), k, seed)
        size = float(np.exp(low + (high - low) * (k + rng.random()) / trials))
        candidate = on.tried[cause][int(rng.integers(len(on.tried[cause])))]
        copy = _copy(on, k, seed)
        start = copy.hourly.index[0] + DAY * on.whole.days
        onset = (start + DAY * float(rng.uniform(*FIRST_DAYS))).floor("h")
        done.append((size, _trial(on, copy, Fault(candidate, size, onset, DAY * coverage.GROWTH), settings)))
    found = sizes.smallest(np.array([size for size, _ in done]), np.array([trial.found for _, trial in done]))
    days = [trial.days for _, trial in done if trial.days is not None]
    return CauseProof(
        cause=cause,
        what=CAUSES[cause].what,
        unit=SENSOR_UNIT if cause == SENSOR else CAUSES[cause].unit,
        trials=tuple(trial for _, trial in done),
        smallest=found.scaled(lambda size: _magnitude(on.tried[cause][0], size, on.health)),
        days=float(np.median(days)) if days else None,
    )


def _trial(on: Ground, copy: Readings, fault: Fault, settings: Settings) -> Trial:
    sick = faults.with_fault(copy.hourly, on.whole.vessel, on.health, fault)
    last = fault.onset + DAY * WITHIN_DAYS
    incidents = [
        i
        for i in _scanned(on, copies.with_rows(copy, sick), settings)
        if fault.onset.floor("D") <= i.first_flagged <= last
    ]
    flagged = min((i.first_flagged for i in incidents), default=None)
    candidate = fault.candidate
    return Trial(
        role=candidate.role,
        size=_magnitude(candidate, fault.size, on.health),
        found=flagged is not None,
        named=any((i.cause, i.role) == (candidate.cause, candidate.role) for i in incidents),
        days=None if flagged is None else float((flagged + DAY - fault.onset) / DAY),
    )


def _scanned(on: Ground, readings: Readings, settings: Settings) -> tuple[Incident, ...]:
    return vessel_scan.scan_vessel(on.whole.vessel, readings, settings=settings).incidents


def _copy(on: Ground, k: int, seed: int) -> Readings:
    """The k-th copy: every cause's k-th trial and the k-th untouched one stand on the same."""
    return copies.copied(on.whole, WATCHED_DAYS, _generator(on, 0, k, seed))


def _generator(on: Ground, purpose: int, k: int, seed: int) -> np.random.Generator:
    return np.random.default_rng(np.random.SeedSequence(seed, spawn_key=(on.number, purpose, k)))


def _magnitude(candidate: Candidate, size: float, health: Health) -> float:
    """A size in the signature's steps → the cause's unit; a sensor's stays as it is."""
    return size if candidate.cause == SENSOR else magnitude.in_unit(candidate, size, health)
