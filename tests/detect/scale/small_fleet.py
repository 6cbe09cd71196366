"""A small made-up fleet as exports, the scans of which take a second a vessel."""

from pathlib import Path

from sevenppb.detect.fleet import Fleet, read_fleet
from sevenppb.synthetic.fleet import write_fleet
from sevenppb.synthetic.simulation import FleetPlan


def written(folder: Path, vessels: int = 3, days: int = 150) -> Fleet:
    plan = FleetPlan(
        seed=3,
        vessels=vessels,
        healthy=1,
        days=days,
        step_minutes=60,
        baseline_days=100,
        forms=("wide-parquet",),
    )
    return read_fleet(write_fleet(folder, plan))


def exports_of(fleet: Fleet, number: int) -> list[Path]:
    vessel = fleet.vessels[number]
    return sorted(path for pattern in vessel.exports for path in Path("/").glob(pattern.lstrip("/")))
