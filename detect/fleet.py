"""The fleet file: TOML → frozen Fleet, Vessel, Work; all its faults in one list."""

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import pandas as pd


@dataclass(frozen=True)
class TagRef:
    """Where a role's readings are: the tag's name in the exports, and its unit (None: the export must say)."""

    tag: str
    unit: str | None


@dataclass(frozen=True)
class Work:
    """Work done on a vessel: later readings get a fresh baseline for what it resets
    (sprays | vent | trays | steam-supply | air-in-leakage | insulation | sensor:<role> | all)."""

    date: pd.Timestamp
    what: str
    resets: tuple[str, ...]


@dataclass(frozen=True)
class Vessel:
    """One deaerator. `capacity` kg/s, `barometer` Pa, `vent_bore` m, `limits` role or feature → value in the
    inside unit (ppb, K). `exports` are absolute glob patterns or fsspec addresses."""

    id: str
    exports: tuple[str, ...]
    layout: Literal["auto", "wide", "long"]
    tags: dict[str, TagRef]
    capacity: float | None
    baseline: tuple[pd.Timestamp, pd.Timestamp] | pd.Timedelta | None
    barometer: float
    vent_bore: float | None
    limits: dict[str, float]
    work: tuple[Work, ...]


@dataclass(frozen=True)
class Cost:
    """Money: `steam` per tonne, in `currency`."""

    steam: float
    currency: str


@dataclass(frozen=True)
class Fleet:
    """The fleet file, validated. `baseline` of the fleet is already laid onto the vessels that name none."""

    name: str
    path: Path
    timezone: str
    display: Literal["si", "us"]
    cost: Cost | None
    vessels: tuple[Vessel, ...]
