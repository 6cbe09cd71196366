"""Exports of a whole fleet, cheaply: a few simulated vessels, each written many times with noise of its own."""

import re
from pathlib import Path

import duckdb
import numpy as np
import pandas as pd

from sevenppb.synthetic.faults import Fault
from sevenppb.synthetic.fleet import write_fleet
from sevenppb.synthetic.simulation import FleetPlan, PlannedFault

SIMULATED = 4  # vessels that are really simulated; the first has a vent that chokes from the middle on
ROLES = (
    "shell_pressure", "storage_temperature", "steam_pressure", "steam_flow", "steam_valve", "inlet_temperature",
    "inlet_flow", "outlet_flow", "outlet_oxygen", "vent_temperature", "level", "makeup_flow",
)  # fmt: skip
NOISE = (
    0.3  # of a tag's median move in a minute: no two files are alike, and a tag that mostly stands goes on so
)


def made(folder: Path, vessels: int, days: int) -> Path:
    """The fleet file of such exports beneath `folder`, which are written where they are not there yet."""
    place = folder / f"{vessels}x{days}"
    fleet = place / "fleet.toml"  # written last: where it is there, all is
    return fleet if fleet.exists() else write(place, vessels, days)


def write(folder: Path, vessels: int, days: int) -> Path:
    """Writes `vessels` Parquet exports of one reading a minute and 12 tags; the path of their fleet file."""
    choked = Fault("choked-vent", 0.5 * days, 0.5 * days + 20.0, None, "ramp", 0.6, "fraction", None)
    plan = FleetPlan(
        seed=11,
        vessels=min(vessels, SIMULATED),
        days=days,
        step_minutes=1,
        baseline_days=min(180, days * 4 // 10),
        faults=(PlannedFault(0, choked),),
        roles=ROLES,
        bad_values=False,
        forms=("wide-parquet",),
    )
    simulated = write_fleet(folder / "simulated", plan).read_text(encoding="utf-8")
    head, *blocks = re.split(r"(?=^\[\[vessel\]\])", simulated, flags=re.MULTILINE)
    frames = [pd.read_parquet(folder / "simulated" / _export(block)) for block in blocks]
    rng = np.random.default_rng(0)
    database = duckdb.connect()  # its own: the module-wide one may be in the middle of someone's result
    written = [head]
    for number in range(vessels):
        block, frame = blocks[number % len(blocks)], frames[number % len(blocks)]
        name = f"V-{number + 1:04d}"
        database.from_df(_renoised(frame, rng)).write_parquet(str(folder / f"{name}.parquet"))
        block = re.sub(r'^id = ".*"$', f'id = "{name}"', block, flags=re.MULTILINE)
        written.append(re.sub(r"^exports = .*$", f'exports = ["{name}.parquet"]', block, flags=re.MULTILINE))
    path = folder / "fleet.toml"
    path.write_text("\n".join(written), encoding="utf-8")
    return path


def exports(fleet: Path) -> list[Path]:
    """The exports beside a fleet file that was written here."""
    return sorted(fleet.parent.glob("V-*.parquet"))


def _export(block: str) -> str:
    found = re.search(r'^exports = \["(.*)"\]$', block, flags=re.MULTILINE)
    assert found is not None
    return found[1]


def _renoised(frame: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame:
    out = frame.copy()
    for name in frame.select_dtypes("number"):
        values = frame[name].to_numpy(dtype=float)
        moves = np.nanmedian(abs(np.diff(values)))
        out[name] = np.round(values + rng.normal(0.0, NOISE * moves, len(values)), 3)
    return out
