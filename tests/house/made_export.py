"""A small plant's export, as the pages describe it: so that every command in them can be run."""

from pathlib import Path

import numpy as np
import pandas as pd
from scipy import signal

from sevenppb.detect.physics import steam

DAYS = 200
STUCK = slice(48 * 150, 48 * 162)  # of the oxygen's readings: twelve days in June


def write(path: Path) -> None:
    """Half-hourly readings from 1 January 2025 on, Norwegian winter time, a column a tag with its unit. The
    oxygen analyser shows one value for twelve days in June."""
    rng = np.random.default_rng(3)
    time = pd.date_range("2025-01-01", periods=48 * DAYS, freq="30min")
    day = np.arange(len(time)) / 48.0
    load = 110 + 18 * np.sin(2 * np.pi * day) + 10 * np.sin(2 * np.pi * day / 7) + _noise(rng, time, 3.0)
    gauge = 62 + _noise(rng, time, 0.8)
    cold = 74 + 3 * np.sin(2 * np.pi * day / 3.1) + _noise(rng, time, 0.6)
    hot = steam.saturation_temperature(1e3 * gauge + 101325.0) - 0.5 - 0.004 * (load - 110)
    hot += _noise(rng, time, 0.1, kept=0.99)
    oxygen = np.exp(np.log(4.0) + 0.006 * (load - 110) + _noise(rng, time, 0.15, kept=0.99))
    steam_flow = 0.00178 * load * (hot - cold) * np.exp(_noise(rng, time, 0.01, kept=0.99))
    oxygen[STUCK] = oxygen[STUCK.start]
    columns = {
        ("PT-101", "Deaerator 1 shell pressure", "kPa"): gauge,
        ("TT-103", "Deaerator 1 storage temperature", "degC"): hot + rng.normal(0, 0.05, len(time)),
        ("TT-105", "Condensate inlet temperature", "degC"): cold,
        ("FT-110", "Condensate inlet flow", "t/h"): load,
        ("FT-131", "Heating steam flow", "t/h"): steam_flow,
        ("PT-130", "LP steam header", "kPa"): 410 + _noise(rng, time, 4.0),
        ("AT-120", "Feed water outlet oxygen", "ppb"): oxygen,
    }
    tags, descriptions, units = zip(*columns, strict=True)
    heads = [",".join(row) for row in (("time", *tags), ("", *descriptions), ("", *units))]
    frame = pd.DataFrame({tag: np.round(values, 3) for (tag, _, _), values in columns.items()})
    frame.insert(0, "time", time.strftime("%Y-%m-%d %H:%M"))
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("\n".join(heads) + "\n" + frame.to_csv(index=False, header=False), encoding="utf-8")


def _noise(rng: np.random.Generator, time: pd.DatetimeIndex, size: float, kept: float = 0.9) -> np.ndarray:
    """Noise of this standard deviation, of which each reading keeps a share of the one before."""
    fresh = rng.normal(0, size * np.sqrt(1 - kept**2), len(time))
    return np.asarray(signal.lfilter([1.0], [1.0, -kept], fresh))
