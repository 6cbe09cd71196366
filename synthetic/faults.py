"""Labelled faults: changes of a plant's or an instrument's parameters over time.

`TABLE` has a row a cause: the drawn sizes and what the size means. Applying a fault to a plant is one
function a cause in `apply_fault`; the two sensor causes are applied by the instruments.
Sizes and times are common practice from memory, no source.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from sevenppb.synthetic.drivers import Clock
from sevenppb.synthetic.steam import Array
from sevenppb.synthetic.vessel import VesselSpec

Shape = Literal["ramp", "step", "intermittent"]


@dataclass(frozen=True)
class Fault:
    """A change that begins on day `onset` of the history, has its whole size on day `full` and has `ended`
    (repaired) on a day, or never. `size` [unit] is positive but for a sensor's drift, which has its sign."""

    cause: str
    onset: float
    full: float
    ended: float | None
    shape: Shape
    size: float
    unit: str
    role: str | None = None

    def course(self, clock: Clock) -> Array:
        """0 before the onset, 1 at full size, 0 after the end; an intermittent one comes and goes."""
        if self.shape == "step":
            grown = (clock.day >= self.onset).astype(np.float64)
        else:
            grown = np.clip((clock.day - self.onset) / max(self.full - self.onset, 1e-6), 0, 1)
        if self.shape == "intermittent":
            # two beats without a common period: spells of about a day to several days, half of the time
            grown = np.where(clock.day >= self.onset, 1.0, 0.0)
            beat = np.sin(2 * np.pi * clock.day / 6.3 + self.onset) + np.sin(2 * np.pi * clock.day / 15.1)
            grown *= beat > 0
        if self.ended is not None:
            grown[clock.day >= self.ended] = 0.0
        return grown


@dataclass(frozen=True)
class Row:
    """A row of the table of faults: sizes drawn between `low` and `high` [unit], what the size says, the
    shapes' weights (ramp, step, intermittent), and days of a ramp."""

    low: float
    high: float
    unit: str
    what: str
    resets: str  # the word by which a record of work says that this is put right
    shapes: tuple[float, float, float] = (0.8, 0.2, 0.0)
    ramp_days: tuple[float, float] = (30.0, 180.0)


TABLE: dict[str, Row] = {
    "fouled-sprays": Row(0.20, 0.60, "fraction", "spray flow area lost", "sprays", (0.9, 0.1, 0.0)),
    "worn-sprays": Row(0.20, 0.80, "fraction", "spray flow area gained", "sprays", (0.7, 0.3, 0.0)),
    "choked-vent": Row(0.30, 0.80, "fraction", "vent area lost", "vent", (0.7, 0.3, 0.0)),
    "open-vent": Row(0.40, 2.00, "fraction", "vent area gained", "vent", (0.4, 0.6, 0.0)),
    "steam-starvation": Row(
        0.25, 0.65, "fraction", "steam supply capacity lost", "steam-supply", (0.7, 0.2, 0.1)
    ),
    "tray-damage": Row(0.08, 0.40, "fraction", "tray transfer lost", "trays", (0.35, 0.65, 0.0)),
    "flooded-trays": Row(0.25, 0.50, "fraction", "flooding load lowered", "trays", (0.7, 0.3, 0.0)),
    "air-in-leakage": Row(0.40, 3.00, "fraction", "inlet oxygen raised", "air-in-leakage", (0.5, 0.3, 0.2)),
    "heat-loss": Row(
        0.30, 2.00, "K", "extra heat loss, as cooling of the rated flow", "insulation", (0.6, 0.4, 0.0)
    ),
    "sensor-drift": Row(1.0, 1.0, "", "reading shifted", "all", (0.85, 0.15, 0.0)),
    "sensor-stuck": Row(1.0, 1.0, "", "reading held", "all", (0.0, 1.0, 0.0)),
    # causes that no table of a detector need have: structure that was not foreseen
    "vent-condenser-fouled": Row(0.50, 0.95, "fraction", "vent condenser duty lost", "vent", (0.8, 0.2, 0.0)),
    "hotter-drains": Row(8.0, 40.0, "K", "drains returned hotter", "all", (0.3, 0.7, 0.0)),
}

CAUSES = tuple(cause for cause in TABLE if cause not in ("vent-condenser-fouled", "hotter-drains"))

# what an instrument of a role may drift by: either the unit's own amount or a share of the reading
DRIFTS: dict[str, tuple[float, float, str]] = {
    "shell_pressure": (1.0e3, 5.0e3, "Pa"),
    "storage_temperature": (0.5, 2.0, "K"),
    "inlet_temperature": (1.5, 5.0, "K"),
    "vent_temperature": (2.0, 8.0, "K"),
    "steam_flow": (0.03, 0.10, "fraction"),
    "inlet_flow": (0.03, 0.10, "fraction"),
    "outlet_flow": (0.03, 0.10, "fraction"),
    "outlet_oxygen": (0.30, 1.00, "fraction"),
    "spray_differential": (0.10, 0.35, "fraction"),
    "steam_pressure": (1.5e4, 6.0e4, "Pa"),
}
STICKING = (
    "storage_temperature",
    "shell_pressure",
    "outlet_oxygen",
    "steam_flow",
    "inlet_temperature",
    "level",
)


def draw_fault(
    rng: np.random.Generator,
    cause: str,
    spec: VesselSpec,
    roles: tuple[str, ...],
    first_day: float,
    last_day: float,
) -> Fault:
    """A fault of `cause` with its onset between the two days, about a third of them repaired later.
    A sensor's fault falls on one of the recorded `roles`."""
    row = TABLE[cause]
    shape: Shape = ("ramp", "step", "intermittent")[int(rng.choice(3, p=row.shapes))]
    onset = float(rng.uniform(first_day, last_day))
    full = onset + (float(rng.uniform(*row.ramp_days)) if shape == "ramp" else 0.0)
    repaired = float(rng.exponential(120.0)) + 30.0
    ended = full + repaired if rng.random() < 0.3 else None
    size, unit, role = float(rng.uniform(row.low, row.high)), row.unit, None
    if cause == "sensor-drift":
        role = str(rng.choice([r for r in roles if r in DRIFTS]))
        low, high, unit = DRIFTS[role]
        size = float(rng.uniform(low, high) * rng.choice([-1.0, 1.0]))
        if role == "outlet_oxygen" and size < 0:
            size = -float(rng.uniform(0.3, 0.7))  # a reading cannot lose more than itself
    elif cause == "sensor-stuck":
        role = str(rng.choice([r for r in roles if r in STICKING]))
        size = 0.0
    elif cause == "heat-loss":
        size, unit = round(size * 4.2 * spec.rated, 1), "kW"
    elif cause == "flooded-trays":
        # trays that flood only above every load would be no fault: down to a load that the vessel sees
        size = 1 - float(rng.uniform(0.5, 0.8)) / spec.flood_load
    elif cause == "air-in-leakage":
        # water nearly saturated with air can take little more of it
        size *= min(1.0, 0.15 / spec.makeup_share) if spec.makeup_share > 0.15 else 1.0
    return Fault(cause, round(onset, 3), round(full, 3), ended and round(ended, 3), shape, size, unit, role)


def healthy(spec: VesselSpec, steps: int) -> dict[str, Array]:
    """The health parameters of plant.Drivers for a vessel without faults, arrays (steps,)."""
    one = np.ones(steps)
    return {
        "spray_area": one,
        "spray_cover": one,
        "spray_spring": one,
        "vent_area": spec.vent_area * one,
        "vent_condensing": spec.vent_condensing * one,
        "supply": one,
        "trays": one,
        "flood_load": spec.flood_load * one,
        "extra_loss": 0 * one,
    }


def apply_fault(
    fault: Fault, spec: VesselSpec, clock: Clock, health: dict[str, Array], course: dict[str, Array]
) -> None:
    """Changes `health` or the driving `course` (both name → array (steps,)) by the fault."""
    g = fault.course(clock) * fault.size
    if fault.cause == "fouled-sprays":
        health["spray_area"] = health["spray_area"] * (1 - g)
        # what scale leaves open sprays unevenly
        health["spray_cover"] = health["spray_cover"] * (1 - g) ** spec.spray_cover
    elif fault.cause == "worn-sprays":
        health["spray_area"] = health["spray_area"] * (1 + g)
        health["spray_spring"] = health["spray_spring"] / (1 + g)
        health["spray_cover"] = health["spray_cover"] * (1 + g) ** (-0.45 * spec.spray_cover)
    elif fault.cause == "choked-vent":
        health["vent_area"] = health["vent_area"] * (1 - g)
    elif fault.cause == "open-vent":
        health["vent_area"] = health["vent_area"] * (1 + g)
    elif fault.cause == "steam-starvation":
        health["supply"] = health["supply"] * (1 - g)
    elif fault.cause == "tray-damage":
        health["trays"] = health["trays"] * (1 - g)
    elif fault.cause == "flooded-trays":
        health["flood_load"] = health["flood_load"] * (1 - g)
    elif fault.cause == "air-in-leakage":
        course["inlet_oxygen"] = course["inlet_oxygen"] * (1 + g)
    elif fault.cause == "heat-loss":
        health["extra_loss"] = health["extra_loss"] + g
    elif fault.cause == "vent-condenser-fouled":
        health["vent_condensing"] = health["vent_condensing"] * (1 - g)
    elif fault.cause == "hotter-drains":
        course["drain_temperature"] = course["drain_temperature"] + g
