"""Made-up fleets in memory → scans beside the truth: hundreds of vessel-years to measure detection on."""

from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field, replace

import pandas as pd

from benchmarks.quality import readings
from benchmarks.quality.stopwatch import Stopwatch
from sevenppb.detect import vessel_scan
from sevenppb.detect.fleet import Vessel
from sevenppb.detect.incidents.incident import Incident, VesselScan
from sevenppb.detect.quality.readings import Readings
from sevenppb.detect.settings import DEFAULTS, Settings
from sevenppb.synthetic import simulation
from sevenppb.synthetic.simulation import FleetPlan, Label

WORKERS = 2
# what the seconds are entered under
MADE, READ, SCAN, BUDGETS = "making it up", "reading it", "sevenppb", "sevenppb at other budgets"

Scores = Callable[[Vessel, Readings, pd.Timestamp, Stopwatch], dict[str, pd.Series]]


@dataclass(frozen=True)
class Judged:
    """One made-up vessel's scan (without its table of days), the end of its baseline and its last reading, its
    truth, and what other ways of watching make of the same readings: by name a score a day. `budgets`: the
    incidents of scans that allow themselves so many false ones a vessel-year. `seconds`: what the time went to."""

    seed: int
    scan: VesselScan
    baseline_end: pd.Timestamp
    last: pd.Timestamp
    labels: tuple[Label, ...]
    scores: dict[str, pd.Series] = field(default_factory=dict)
    budgets: dict[float, tuple[Incident, ...]] = field(default_factory=dict)
    seconds: dict[str, float] = field(default_factory=dict)


def judged(
    plan: FleetPlan,
    seeds: tuple[int, ...],
    settings: Settings = DEFAULTS,
    scores: Scores | None = None,
    budgets: tuple[float, ...] = (),
    heard: Callable[[list[Judged]], None] = lambda fleet: None,
) -> list[Judged]:
    """Scan the plan's fleet for each seed, two at a time, and again at each of the budgets; `heard` is called with
    each fleet when it is done."""
    out: list[Judged] = []
    with ProcessPoolExecutor(max_workers=WORKERS) as pool:
        work = [(replace(plan, seed=seed), settings, scores, budgets) for seed in seeds]
        for fleet in pool.map(_one_fleet, work):
            heard(fleet)
            out += fleet
    return out


def _one_fleet(work: tuple[FleetPlan, Settings, Scores | None, tuple[float, ...]]) -> list[Judged]:
    return list(_scans(*work))


def _scans(
    plan: FleetPlan, settings: Settings, scores: Scores | None, budgets: tuple[float, ...]
) -> Iterator[Judged]:
    watch = Stopwatch()
    for made in simulation.simulate_each(plan):
        watch.lap(MADE)
        vessel = readings.vessel_of(made, plan.baseline_days)
        read = readings.readings_of(made, vessel)
        watch.lap(READ)
        found = vessel_scan.scan_vessel(vessel, read, settings=settings)
        watch.lap(SCAN)
        others = {
            budget: vessel_scan.scan_vessel(
                vessel, read, settings=replace(settings, false_alarms=budget)
            ).incidents
            for budget in budgets
        }
        watch.lap(BUDGETS)
        hours = read.hourly.index
        end = (
            hours[0] + pd.Timedelta(days=plan.baseline_days) if found.baseline is None else found.baseline[1]
        )
        told = {} if scores is None else scores(vessel, read, end, watch)
        slim = replace(found, daily=found.daily.iloc[:0])
        yield Judged(plan.seed, slim, end, hours[-1], made.labels, told, others, watch.seconds)
        watch = Stopwatch()
