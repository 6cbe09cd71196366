"""The demonstration's scenario: a made-up paper mill that also heats a made-up town.

Thirteen deaerators, one for each cause and two without fault, two years of readings every ten minutes in
many forms of export. The first year is the baseline; all faults begin in the second.
"""

from dataclasses import dataclass, replace
from pathlib import Path

from sevenppb.synthetic.faults import Fault
from sevenppb.synthetic.fleet import write_fleet
from sevenppb.synthetic.simulation import FleetPlan, PlannedFault, drawn_specs
from sevenppb.synthetic.tuning import tuned

SEED = 20
BASELINE_DAYS = 365


@dataclass(frozen=True)
class Scene:
    """One vessel of the scenario: its id, which of the seed's vessels it is, the form of its exports, and
    what is wrong with it."""

    id: str
    drawn: int
    form: str
    fault: Fault | None = None


def _ramp(
    cause: str, onset: float, days: float, size: float, unit: str = "fraction", role: str | None = None
) -> Fault:
    return Fault(cause, onset, onset + days, None, "ramp", size, unit, role)


def _step(cause: str, onset: float, size: float, unit: str = "fraction", role: str | None = None) -> Fault:
    return Fault(cause, onset, onset, None, "step", size, unit, role)


SCENES = (
    Scene("MILL-1", 7, "wide-parquet", _ramp("fouled-sprays", 420.0, 120.0, 0.45)),
    Scene("MILL-2", 2, "spreadsheet", _ramp("worn-sprays", 450.0, 90.0, 0.60)),
    Scene("MILL-3", 9, "long-parquet", _ramp("choked-vent", 470.0, 60.0, 0.65)),
    Scene("MILL-4", 34, "wide-csv", _step("open-vent", 500.0, 1.2)),
    Scene("MILL-5", 14, "american", _ramp("steam-starvation", 440.0, 100.0, 0.38)),
    Scene("MILL-6", 6, "long-csv", _step("tray-damage", 520.0, 0.25)),
    Scene("MILL-7", 12, "monthly-parquet"),
    Scene("TOWN-1", 42, "tabs", _ramp("air-in-leakage", 460.0, 75.0, 1.2)),
    Scene("TOWN-2", 3, "wide-parquet", _ramp("flooded-trays", 430.0, 60.0, 0.42)),
    Scene("TOWN-3", 19, "quality-words", _ramp("heat-loss", 445.0, 80.0, 50.0, "kW")),
    Scene("TOWN-4", 13, "wide-utf16", _ramp("sensor-drift", 455.0, 90.0, 1.4, "K", "storage_temperature")),
    Scene("TOWN-5", 39, "wide-csv", _step("sensor-stuck", 540.0, 0.0, "", "outlet_oxygen")),
    Scene("TOWN-6", 49, "spreadsheet"),
)


def demo_plan(days: int = 731, step_minutes: int = 10) -> FleetPlan:
    """The scenario as a plan; fewer days or longer steps give a smaller copy of the same vessels."""
    plan = FleetPlan(
        seed=SEED,
        name="Ostermere mill and district heat",
        vessels=len(SCENES),
        days=days,
        step_minutes=step_minutes,
        start="2024-01-01",
        baseline_days=BASELINE_DAYS,
        faults=tuple(PlannedFault(k, s.fault) for k, s in enumerate(SCENES) if s.fault is not None),
        forms=tuple(scene.form for scene in SCENES),
        roles="usual",
    )
    drawn = drawn_specs(replace(plan, vessels=max(scene.drawn for scene in SCENES)))
    specs = [replace(drawn[scene.drawn - 1], id=scene.id) for scene in SCENES]
    return replace(plan, specs=tuple(tuned(specs)))


def write_demo(folder: Path, days: int = 731, step_minutes: int = 10) -> Path:
    """Writes the scenario's exports, fleet file and truth into `folder`; the path of the fleet file."""
    return write_fleet(folder, demo_plan(days, step_minutes))
