"""Made-up vessels in memory, by a plant that shares no model with the detection, and their scans."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pandas as pd

from sevenppb.detect import vessel_scan
from sevenppb.detect.fleet import Vessel, Work
from sevenppb.detect.incidents.incident import VesselScan
from sevenppb.detect.quality.readings import Readings
from sevenppb.synthetic.faults import Fault
from sevenppb.synthetic.simulation import FleetPlan, PlannedFault, Simulated, drawn_specs, simulate
from sevenppb.synthetic.tuning import tuned

# Hours are enough to be quick; the baseline reaches from winter into summer.
BASELINE, DAYS, ONSET = 210, 330, 240
START = pd.Timestamp("2023-01-01", tz="UTC")
PLAN = FleetPlan(
    seed=6,
    faults=(),
    roles="all",
    days=DAYS,
    step_minutes=60,
    start=f"{START:%Y-%m-%d}",
    baseline_days=BASELINE,
    bad_values=False,
)
DRAWN = (
    0  # which of the plan's vessels is used: with trays, much make-up, a swinging load and every instrument
)


def ramp(cause: str, size: float, unit: str = "fraction", role: str | None = None) -> Fault:
    return Fault(cause, ONSET, ONSET + 30.0, None, "ramp", size, unit, role)


def step(cause: str, size: float) -> Fault:
    return Fault(cause, ONSET, ONSET, None, "step", size, "fraction", None)


def put_right(fault: Fault, day: float) -> Fault:
    return replace(fault, ended=day)


def day(number: float) -> pd.Timestamp:
    return START + pd.Timedelta(days=number)


def copies(faults: Mapping[str, Fault | None]) -> dict[str, Simulated]:
    """The one vessel with each of the faults, every copy with weather and noise of its own. A heat loss is
    given as cooling [K] of the rated flow, a flooding load as the load [1] at which the trays now flood."""
    spec = drawn_specs(replace(PLAN, vessels=DRAWN + 1))[DRAWN]
    tuned_spec = tuned([spec])[0]

    def sized(fault: Fault) -> Fault:
        if fault.cause == "heat-loss":
            return replace(fault, size=fault.size * 4.2 * tuned_spec.rated)
        if fault.cause == "flooded-trays":
            return replace(fault, size=1.0 - fault.size / tuned_spec.flood_load)
        return fault

    planned = tuple(PlannedFault(k, sized(f)) for k, f in enumerate(faults.values()) if f is not None)
    specs = tuple(replace(tuned_spec, id=name) for name in faults)
    made = simulate(replace(PLAN, vessels=len(specs), specs=specs, faults=planned))
    return dict(zip(faults, made, strict=True))


def scanned(made: Simulated, until: pd.Timestamp | None = None, work: tuple[Work, ...] = ()) -> VesselScan:
    """A scan of hours in memory, those from `until` on left out."""
    hourly = made.readings if until is None else made.readings[made.readings.index < until]
    return vessel_scan.scan_vessel(described(made, work), as_read(made, hourly))


def as_read(made: Simulated, hourly: pd.DataFrame) -> Readings:
    """Hours as reading hands them on where nothing was amiss."""
    count = hourly.notna().astype(int)
    return Readings(
        vessel=made.spec.id,
        hourly=hourly,
        spread=pd.DataFrame(np.nan, index=hourly.index, columns=hourly.columns),
        count=count,
        tally=pd.DataFrame({"used": count.sum()}),
        total=int(count.to_numpy().sum()),
        notes=(),
    )


def described(made: Simulated, work: tuple[Work, ...] = ()) -> Vessel:
    return Vessel(
        id=made.spec.id,
        exports=(),
        layout="auto",
        tags={},
        capacity=None,
        baseline=pd.Timedelta(days=BASELINE),
        barometer=made.spec.barometer,
        vent_bore=None,
        limits={},
        work=work,
    )


# New cases go to the end: a copy's weather and noise hang on its place.
CASES: dict[str, Fault | None] = {
    "healthy": None,
    "healthy again": None,
    "fouled-sprays": ramp("fouled-sprays", 0.5),
    "worn-sprays": ramp("worn-sprays", 0.6),
    "choked-vent": ramp("choked-vent", 0.7),
    "open-vent": step("open-vent", 1.5),
    "steam-starvation": ramp("steam-starvation", 0.5),
    "tray-damage": step("tray-damage", 0.3),
    "flooded-trays": step("flooded-trays", 0.55),
    "air-in-leakage": step("air-in-leakage", 1.5),
    "heat-loss": ramp("heat-loss", 1.2, "kW"),
    "storage thermometer reads high": ramp("sensor-drift", 1.5, "K", "storage_temperature"),
    "steam meter reads high": ramp("sensor-drift", 0.10, "fraction", "steam_flow"),
    "vent thermometer reads low": ramp("sensor-drift", -6.0, "K", "vent_temperature"),
    "open vent put right": put_right(step("open-vent", 1.5), ONSET + 40.0),
    "storage thermometer put right": put_right(
        ramp("sensor-drift", 1.5, "K", "storage_temperature"), ONSET + 60.0
    ),
    "vent opened wider on purpose": step("open-vent", 0.8),
}
