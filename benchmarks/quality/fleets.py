"""Made-up fleets in memory → scans beside the truth: hundreds of vessel-years to measure detection on."""

from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field, replace

import pandas as pd

from benchmarks.quality import readings
from sevenppb.detect import vessel_scan
from sevenppb.detect.fleet import Vessel
from sevenppb.detect.incidents.incident import VesselScan
from sevenppb.detect.quality.readings import Readings
from sevenppb.detect.settings import DEFAULTS, Settings
from sevenppb.synthetic import simulation
from sevenppb.synthetic.simulation import FleetPlan, Label

WORKERS = 2

Scores = Callable[[Vessel, Readings, pd.Timestamp], dict[str, pd.Series]]


@dataclass(frozen=True)
class Judged:
    """One made-up vessel's scan, the end of its baseline and its last reading, its truth, and what other
    ways of watching make of the same readings: by name a score a day."""

    seed: int
    scan: VesselScan
    baseline_end: pd.Timestamp
    last: pd.Timestamp
    labels: tuple[Label, ...]
    scores: dict[str, pd.Series] = field(default_factory=dict)


def judged(
    plan: FleetPlan, seeds: tuple[int, ...], settings: Settings = DEFAULTS, scores: Scores | None = None
) -> list[Judged]:
    """Scan the plan's fleet for each seed, two at a time."""
    with ProcessPoolExecutor(max_workers=WORKERS) as pool:
        work = [(replace(plan, seed=seed), settings, scores) for seed in seeds]
        return [one for fleet in pool.map(_one_fleet, work) for one in fleet]


def _one_fleet(work: tuple[FleetPlan, Settings, Scores | None]) -> list[Judged]:
    return list(_scans(*work))


def _scans(plan: FleetPlan, settings: Settings, scores: Scores | None) -> Iterator[Judged]:
    for made in simulation.simulate_each(plan):
        vessel = readings.vessel_of(made, plan.baseline_days)
        read = readings.readings_of(made, vessel)
        found = vessel_scan.scan_vessel(vessel, read, settings=settings)
        hours = read.hourly.index
        end = (
            hours[0] + pd.Timedelta(days=plan.baseline_days) if found.baseline is None else found.baseline[1]
        )
        others = {} if scores is None else scores(vessel, read, end)
        yield Judged(plan.seed, found, end, hours[-1], made.labels, others)
