"""A small vessel's readings for the tests of reading, and a fleet that names them."""

from pathlib import Path

import numpy as np
import pandas as pd

from sevenppb.detect.fleet import Fleet, TagRef, Vessel

TAGS = {
    "shell_pressure": TagRef("PT-101", "kPa gauge"),
    "storage_temperature": TagRef("TT-103", "degC"),
    "outlet_flow": TagRef("FT-110", "t/h"),
    "outlet_oxygen": TagRef("AT-120", "ppb"),
}
ZONE = "Europe/Oslo"


def readings(days: float = 3.0, seed: int = 7) -> pd.DataFrame:
    """Minutes in UTC over the night in which Oslo's clock goes back (2025-10-26), a column a tag. Values stand for
    some minutes, then change: so storing by exception loses nothing. Three decimals."""
    rng = np.random.default_rng(seed)
    time = pd.date_range("2025-10-24 22:00", periods=int(days * 1440), freq="min", tz="UTC")
    slow = np.sin(np.arange(len(time)) / 300.0)
    columns = {}
    for tag, middle, swing in (
        ("PT-101", 60, 8),
        ("TT-103", 112, 2),
        ("FT-110", 1150, 300),
        ("AT-120", 4.5, 1),
    ):
        value = np.round(middle + swing * slow + 0.1 * swing * rng.standard_normal(len(time)), 3)
        change = rng.random(len(time)) < 0.2
        change[0] = True
        columns[tag] = value[np.maximum.accumulate(np.where(change, np.arange(len(time)), 0))]
    return pd.DataFrame(columns, index=pd.DatetimeIndex(time, name="timestamp"))


def vessel(*exports: Path | str, **changes: object) -> Vessel:
    base: dict[str, object] = {
        "id": "DA-1",
        "exports": tuple(str(e) for e in exports),
        "layout": "auto",
        "tags": TAGS,
        "capacity": None,
        "baseline": None,
        "barometer": 101325.0,
        "vent_bore": None,
        "limits": {},
        "work": (),
    }
    return Vessel(**{**base, **changes})  # type: ignore[arg-type]


def fleet(timezone: str = ZONE) -> Fleet:
    return Fleet("Northmere", Path("fleet.toml"), timezone, "si", None, ())


def expected(frame: pd.DataFrame) -> pd.DataFrame:
    """Hourly medians in inside units, by pandas and by hand."""
    hourly = frame.resample("h").median()
    return pd.DataFrame(
        {
            "shell_pressure": hourly["PT-101"] * 1000 + 101325.0,
            "storage_temperature": hourly["TT-103"],
            "outlet_flow": hourly["FT-110"] / 3.6,
            "outlet_oxygen": hourly["AT-120"],
        }
    )
