"""Made-up fleets in memory → scans beside the truth, so that detection can be measured on hundreds of vessel-years."""

from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from sevenppb.detect import scan
from sevenppb.detect.fleet import Vessel
from sevenppb.detect.incidents.incident import VesselScan
from sevenppb.detect.quality.readings import Readings
from sevenppb.detect.settings import DEFAULTS, Settings
from sevenppb.synthetic import simulation
from sevenppb.synthetic.historian import hourly_frames
from sevenppb.synthetic.simulation import FleetPlan, Label, Simulated


@dataclass(frozen=True)
class Judged:
    """One made-up vessel's scan and its truth."""

    seed: int
    scan: VesselScan
    labels: tuple[Label, ...]


def judged(plan: FleetPlan, seeds: tuple[int, ...], settings: Settings = DEFAULTS) -> list[Judged]:
    """Scan the plan's fleet for each seed, two at a time."""
    with ProcessPoolExecutor(max_workers=2) as pool:
        work = [(replace(plan, seed=seed), settings) for seed in seeds]
        return [one for fleet in pool.map(_one_fleet, work) for one in fleet]


def _one_fleet(work: tuple[FleetPlan, Settings]) -> list[Judged]:
    plan, settings = work
    return list(_scans(plan, settings))


def _scans(plan: FleetPlan, settings: Settings) -> Iterator[Judged]:
    for made in simulation.simulate_each(plan):
        yield Judged(plan.seed, scan.scan_vessel(_vessel(made, plan), readings_of(made), settings=settings), made.labels)


def _vessel(made: Simulated, plan: FleetPlan) -> Vessel:
    baseline = pd.Timedelta(days=plan.baseline_days)
    return Vessel(
        id=made.spec.id,
        exports=(),
        layout="auto",
        tags={},
        capacity=None,
        baseline=baseline,
        barometer=101_325.0,
        vent_bore=None,
        limits={},
        work=(),
    )


def readings_of(made: Simulated) -> Readings:
    """Hourly readings without files: values that the historian calls bad are already missing."""
    hourly, spread, count = hourly_frames(_thawed(made.readings))
    return Readings(
        vessel=made.spec.id,
        hourly=hourly,
        spread=spread,
        count=count,
        tally=pd.DataFrame({"used": count.sum()}),
        total=int(np.asarray(count).sum()),
        notes=(),
    )


def _thawed(raw: pd.DataFrame) -> pd.DataFrame:
    """TEMP"""
    out = raw.copy()
    for c in raw.columns:
        v = raw[c]
        run = v.ne(v.shift()).cumsum()
        n = v.groupby(run).transform("size")
        bad = (n >= 8 * 6) & v.notna()
        usual = (n >= 4 * 6).mean()
        if usual < 0.2:
            out.loc[bad, c] = np.nan
    return out
