"""A made-up fleet's scan, built without any detector: what the reports are tested on."""

import functools
import io
from pathlib import Path

import numpy as np
import pandas as pd

from sevenppb.detect import whole_file
from sevenppb.detect.causes import CAUSES
from sevenppb.detect.fleet import Cost, Fleet, TagRef, Vessel, Work
from sevenppb.detect.incidents.incident import (
    Alternative,
    Consequence,
    Coverage,
    Evidence,
    FleetScan,
    HealthParameter,
    Incident,
    LimitReached,
    Magnitude,
    Projected,
    VesselScan,
)
from sevenppb.detect.register.store import Recorded
from sevenppb.detect.settings import DEFAULTS
from sevenppb.reports import html
from sevenppb.reports.charts.section import drawings
from sevenppb.reports.views.scan import scan_view

START = pd.Timestamp("2024-01-01", tz="UTC")
FEATURES = {  # unit, usual value, daily noise, size of the move that the faults make
    "vent_temperature": ("degC", 104.2, 0.5, -6.3),
    "outlet_oxygen": ("ppb", 5.2, 0.3, 4.9),
    "subcooling": ("K", 0.6, 0.15, 0.5),
    "shell_pressure": ("Pa", 143_000.0, 300.0, 0.0),
    "steam_flow": ("kg/s", 4.2, 0.04, -0.05),
    "steam_valve": ("1", 0.46, 0.01, 0.0),
}


def day(text: str) -> pd.Timestamp:
    return pd.Timestamp(text, tz="UTC")


def daily(onset: pd.Timestamp | None, days: int, rng: np.random.Generator) -> pd.DataFrame:
    """Daily columns of every feature; after `onset` each moves towards its size over 60 days."""
    index = pd.date_range(START, periods=days, freq="D")
    frame = pd.DataFrame({"hours": rng.integers(12, 25, days).astype(float)}, index=index)
    year = np.sin(2 * np.pi * np.arange(days) / 365.25)
    frame["flow"] = 40 + 8 * np.cos(np.arange(days) / 9.0)
    past = np.zeros(days) if onset is None else np.clip((index - onset).days / 60, 0, 1)
    for name, (_, usual, noise, move) in FEATURES.items():
        expected = usual + 2 * noise * year
        observed = expected + move * past + noise * rng.standard_normal(days)
        frame[f"expected_{name}"] = expected
        frame[f"band_{name}"] = noise
        frame[f"observed_{name}"] = observed
        frame[f"residual_{name}"] = observed - expected
        frame[f"chart_{name}"] = np.abs(past * move / noise / 4)
    for slug in ("choked-vent", "air-in-leakage"):
        frame[f"chart_{slug}"] = 2.5 * past
    # an absolute shell pressure, under the standard atmosphere and under a steady steam supply
    frame["shell_over_air"] = frame["observed_shell_pressure"] - 101_325.0
    frame["storage_temperature"] = 110.0 - frame["observed_subcooling"]
    frame["steam_to_shell"] = 380_000.0 - frame["observed_shell_pressure"]
    outage = slice(200, 214)
    frame.iloc[outage, frame.columns.get_loc("hours")] = 0.0
    columns = [c for c in frame.columns if c.startswith(("observed", "residual", "flow", "s"))]
    frame.iloc[outage, [frame.columns.get_loc(c) for c in columns]] = np.nan
    return frame


def incident(rank: int, vessel: str, **changes: object) -> Incident:
    """A choked vent, with `changes` laid over it."""
    cause = CAUSES[str(changes.get("cause", "choked-vent"))]
    values: dict[str, object] = {
        "rank": rank,
        "id": f"{vessel}/2025-{rank:03d}",
        "vessel": vessel,
        "cause": cause.slug,
        "role": None,
        "confidence": 0.91,
        "alternatives": (
            Alternative(
                "air-in-leakage",
                None,
                0.06,
                (("vent_temperature", 0.2), ("outlet_oxygen", 5.0), ("subcooling", 0.4)),
            ),
            Alternative(
                "sensor-drift", "vent_temperature", 0.02, (("vent_temperature", -6.3), ("outlet_oxygen", 0.0))
            ),
        ),
        "shape": "ramp",
        "onset": day("2025-09-03"),
        "onset_interval": (day("2025-08-29"), day("2025-09-09")),
        "first_flagged": day("2025-09-14"),
        "ended": None,
        "state": "new",
        "magnitude": Magnitude(cause.what, 0.62, 0.50, 0.74, cause.unit),
        "urgency": 0.83,
        "probability": 0.97,
        "severity": 0.86,
        "limit_reached": LimitReached(
            "outlet_oxygen", day("2026-01-20"), day("2026-01-08"), day("2026-02-11")
        ),
        "consequence": Consequence(3.1, 0.0, None),
        "evidence": (
            Evidence("vent_temperature", "degC", 104.2, 97.9, -8.1, -6.0),
            Evidence("outlet_oxygen", "ppb", 5.2, 10.1, 6.4, 4.4),
            Evidence("subcooling", "K", 0.61, 1.1, 3.1, 0.4),
            Evidence("shell_pressure", "Pa", 143_000.0, 143_120.0, 0.4, float("nan")),
            Evidence("steam_flow", "kg/s", 4.2, 4.15, -1.2, -0.04),
        ),
        "checks": cause.checks,
        "cautions": cause.cautions,
        "projection": tuple(
            Projected(day("2025-12-31") + pd.Timedelta(weeks=n), 6 + 0.35 * n, 6 + 0.17 * n, 6 + 0.9 * n)
            for n in range(12)
        ),
    }
    return Incident(**{**values, **changes})  # type: ignore[arg-type]


def vessel_scan(
    name: str, incidents: tuple[Incident, ...], days: int, rng: np.random.Generator
) -> VesselScan:
    onset = incidents[0].onset if incidents else None
    roles = ["shell_pressure", "storage_temperature", "vent_temperature", "outlet_oxygen"]
    tally = pd.DataFrame(
        {
            "used": [104_000, 103_900, 98_000, 95_120],
            "text for bad": [40, 120, 900, 2_000],
            "frozen": [0, 0, 0, 7_000],
        },
        index=pd.Index(roles, name="role"),
    )
    return VesselScan(
        id=name,
        state="scanned",
        error=None,
        readings=int(tally.to_numpy().sum()),
        usable=0.93,
        hours_running=8_100.0,
        span=(START, START + pd.Timedelta(days=days - 1)),
        baseline=(START, day("2024-04-29")),
        coverage=(
            Coverage("choked-vent", True, 0.22, (), ()),
            Coverage("air-in-leakage", True, 0.35, ("tray-damage",), ("inlet_oxygen",)),
            Coverage("tray-damage", True, 0.3, ("air-in-leakage", "sensor-drift (vent_flow)"), ()),
            Coverage("fouled-sprays", False, None, (), ("spray_differential",)),
            Coverage("heat-loss", True, 42.0, (), ()),
        ),
        notes=("barometer not recorded: 101.325 kPa assumed",),
        incidents=incidents,
        daily=daily(onset, days, rng),
        units={name: unit for name, (unit, *_) in FEATURES.items()},
        tally=tally,
        marks={"used": 8_100, "standing": 400, "load move": 260},
        health=(
            HealthParameter("spray_transfer", 2.1, 1.8, 2.45, "", 2.5, determined=True),
            HealthParameter("vent_share", 0.0021, 0.0016, 0.0027, "fraction", 0.001, determined=True),
            HealthParameter(
                "spray_differential", 52_000.0, 50_000.0, 54_000.0, "Pa", 40_000.0, determined=True
            ),
            HealthParameter("inlet_gas", 3000.0, 900.0, 9900.0, "ppb", 3000.0, determined=False),
        ),
    )


def broken_vessel(name: str) -> VesselScan:
    empty = pd.DataFrame()
    return VesselScan(
        name, "failed", "DA-4: no export matches exports/da4-*.csv; correct [vessel] exports.", 0, 0.0, 0.0,
        None, None, (), (), (), empty, {}, empty, {}, (),
    )  # fmt: skip


def fleet_scan(first: str = "DA-1", days: int = 731, seed: int = 7, choked: int = 1) -> FleetScan:
    """Four vessels: the first choked `choked` times, one with two incidents, one healthy, one failed."""
    rng = np.random.default_rng(seed)
    tank = tuple(incident(rank, first) for rank in range(1, choked + 1))
    drift = incident(
        choked + 1, "DA-2", cause="sensor-drift", role="outlet_oxygen", confidence=0.74, shape="step",
        state="open",
        magnitude=Magnitude("reading shifted", -1.21, -1.5, -0.9, "ppb"), urgency=0.31, severity=0.4,
        probability=0.78, limit_reached=None, projection=(), alternatives=(), onset=day("2025-05-10"),
        onset_interval=(day("2025-05-08"), day("2025-05-12")), first_flagged=day("2025-05-16"),
        consequence=Consequence(None, 0.0, None),
    )  # fmt: skip
    heat = incident(
        choked + 2, "DA-2", cause="heat-loss", confidence=0.66, shape="intermittent", state="eased",
        magnitude=Magnitude("extra heat loss", 120.0, 80.0, 160.0, "kW"), urgency=0.12, severity=0.2,
        probability=0.6, limit_reached=None, projection=(), ended=day("2025-11-20"),
        consequence=Consequence(None, 195.0, 47_830.0),
    )  # fmt: skip
    vessels = (
        vessel_scan(first, tank, days, rng),
        vessel_scan("DA-2", (drift, heat), days, rng),
        vessel_scan("DA-3", (), days, rng),
        broken_vessel("DA-4"),
    )
    return FleetScan(
        "Northmere heating plant", "sevenppb 0.1.0", START, START + pd.Timedelta(days=days - 1), vessels,
        (*tank, drift, heat),
    )  # fmt: skip


def recorded(scan: FleetScan) -> Recorded:
    """A scan that no register has known before."""
    return Recorded(scan, None, {})


def written(content: whole_file.Content) -> bytes:
    """What a file of a report will hold."""
    if isinstance(content, bytes):
        return content
    stream = io.BytesIO()
    content(stream)
    return stream.getvalue()


def scan_page(recorded: Recorded, fleet: Fleet) -> bytes:
    """scan.html with its drawings."""
    view = scan_view(recorded, fleet, DEFAULTS)
    return written(functools.partial(html.write_scan, view, drawings(view)))


def fleet(first: str = "DA-1", display: str = "si") -> Fleet:
    tags = {"shell_pressure": TagRef("PT-101", "kPa gauge"), "storage_temperature": TagRef("TT-103", "degC")}
    vessels = tuple(
        Vessel(
            name, (), "auto", tags, 50.0, None, 101_325.0, None,
            {"outlet_oxygen": 7.0, "subcooling": 2.0},
            (Work(day("2025-06-14"), "spray nozzles cleaned", ("sprays",)),),
        )
        for name in (first, "DA-2", "DA-3", "DA-4")
    )  # fmt: skip
    return Fleet(
        "Northmere heating plant", Path("fleet.toml"), "Europe/Oslo", display, Cost(28.0, "EUR"), vessels
    )  # type: ignore[arg-type]


def fleet_text(vessels: int) -> str:
    """A fleet file with so many vessels, DA-1 and on, each with the two tags that it needs."""
    return '[fleet]\nname = "Northmere heating plant"\n' + "".join(
        f"""
[[vessel]]
id = "DA-{n}"
exports = ["da{n}.csv"]
[vessel.tags]
shell_pressure = {{ tag = "PT-101", unit = "kPa gauge" }}
storage_temperature = {{ tag = "TT-103", unit = "degC" }}
"""
        for n in range(1, vessels + 1)
    )
