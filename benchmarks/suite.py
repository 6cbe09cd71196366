"""Everything that is measured in one run."""

import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from iapws.iapws97 import _TSat_P

from benchmarks import made_exports, measured, record, scanning
from benchmarks.measured import MEGA, Cost
from benchmarks.record import Figure, Run
from sevenppb.detect.physics import steam

YEAR = 365
FEWER = (0.1, 0.25, 0.5, 1.0)  # of the vessels, where the curve is taken
YEARS = (0.25, 0.5, 1.0, 2.0, 5.0)  # of one vessel
MOST_MEMORY = 1000.0  # MB of a scan, all its processes together: the goal
POINTS, ROUNDS = 200_000, 9  # of the steam properties; so many points stay in the processor's cache


@dataclass(frozen=True)
class Plan:
    """Fleet of the quarterly scan, processes, repeats, and whether the curves are wanted."""

    vessels: int
    days: int
    workers: int
    rounds: int
    curve: bool


def measure(plan: Plan, folder: Path) -> Run:
    """Run everything; exports are written into `folder` where they are not there yet."""
    figures: dict[str, Figure] = {}
    fleet = made_exports.made(folder, plan.vessels, plan.days)
    ours, theirs = scanning.beside(fleet, plan.workers, plan.rounds)
    what = f"scan of {plan.vessels} vessels × {plan.days} days"
    for engine, alone in theirs.items():
        figures[f"{what}: processor time over bare {engine}"] = Figure(ours.cpu / alone.cpu, "", 2.0)
        figures[f"{what}: wall time over bare {engine}"] = Figure(ours.wall / alone.wall, "", 2.0)
    figures[f"{what}: processor time"] = Figure(ours.cpu, "s", steady=False)
    for engine, alone in theirs.items():
        figures[f"{what}: bare {engine}'s processor time"] = Figure(alone.cpu, "s", steady=False)
    figures[f"{what}: peak memory"] = Figure(ours.peak / MEGA, "MB", MOST_MEMORY)
    year = scanning.scan(made_exports.made(folder, 1, YEAR), 1)
    figures["scan of one vessel × 1 year: processor time"] = Figure(year.cpu, "s", 3.0, steady=False)
    figures["scan of one vessel × 1 year: wall time"] = Figure(year.wall, "s", 3.0, steady=False)
    figures["sevenppb --help: processor time"] = Figure(_help().cpu, "s", 0.3, steady=False)
    rate, off = _boiling()
    figures["saturation temperature"] = Figure(rate / MEGA, "M points/s", 20.0, least=True, steady=False)
    figures["saturation temperature beside iapws"] = Figure(off * 1e3, "mK", 1.0)
    curves = _curves(plan, folder) if plan.curve else {}
    return Run(record.commit(), record.machine(), plan.workers, figures, curves)


def _curves(plan: Plan, folder: Path) -> dict[str, list[dict[str, float]]]:
    by_vessels, by_years = [], []
    for share in FEWER:
        count = max(1, round(share * plan.vessels))
        by_vessels.append(
            {"vessels": count}
            | _point(scanning.scan(made_exports.made(folder, count, plan.days), plan.workers))
        )
    for years in YEARS:
        by_years.append(
            {"years": years} | _point(scanning.scan(made_exports.made(folder, 1, round(years * YEAR)), 1))
        )
    return {"vessels": by_vessels, "years": by_years}


def _point(cost: Cost) -> dict[str, float]:
    return {"cpu": round(cost.cpu, 2), "wall": round(cost.wall, 2), "peak_MB": round(cost.peak / MEGA)}


def _help() -> Cost:
    tries = [measured.run(measured.sevenppb("--help")) for _ in range(5)]
    return min(tries, key=lambda cost: cost.cpu)


def _boiling() -> tuple[float, float]:
    """Points a second, and the largest difference from iapws [K] at every hundredth point."""
    pressure = np.exp(np.random.default_rng(0).uniform(np.log(1e5), np.log(1e6), POINTS))
    seconds = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        found = steam.saturation_temperature(pressure)
        seconds.append(time.perf_counter() - start)
    known = np.array([_TSat_P(p / 1e6) for p in pressure[::100].tolist()]) - 273.15
    return POINTS / min(seconds), float(abs(found[::100] - known).max())
