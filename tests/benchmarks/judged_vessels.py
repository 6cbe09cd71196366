"""Scans and truths by hand, for the scores' tests."""

from dataclasses import replace

import pandas as pd

from benchmarks.quality.fleets import Judged
from sevenppb.detect.incidents.incident import Alternative, Consequence, Incident, Magnitude
from sevenppb.detect.scale import vessel_task
from sevenppb.synthetic.simulation import Label

START = pd.Timestamp("2024-01-01", tz="UTC")
DAY = pd.Timedelta(days=1)
BASELINE, LAST = 100, 465.25


def day(number: float) -> pd.Timestamp:
    return START + number * DAY


def label(onset: float, cause: str = "choked-vent", ended: float | None = None, size: float = 0.5) -> Label:
    full = day(onset + 20)
    return Label(
        "DA-1", cause, None, day(onset), full, None if ended is None else day(ended), "ramp", size, "fraction"
    )


def incident(
    flagged: float,
    cause: str = "choked-vent",
    role: str | None = None,
    other: str = "heat-loss",
    confidence: float = 0.9,
    onset: float | None = None,
    size: tuple[float, float] = (0.4, 0.6),
) -> Incident:
    began = day(flagged if onset is None else onset)
    return Incident(
        rank=1,
        id="DA-1/2024-001",
        vessel="DA-1",
        cause=cause,
        role=role,
        confidence=confidence,
        alternatives=(Alternative(other, None, 0.05),),
        shape="ramp",
        onset=began,
        onset_interval=(began - 3 * DAY, began + 3 * DAY),
        first_flagged=day(flagged),
        ended=None,
        state="new",
        magnitude=Magnitude("area lost", sum(size) / 2, *size, "fraction"),
        urgency=0.5,
        probability=1.0,
        severity=0.5,
        limit_reached=None,
        consequence=Consequence(None, 0.0, None),
        evidence=(),
        checks=(),
        cautions=(),
    )


def judged(
    labels: tuple[Label, ...], incidents: tuple[Incident, ...], score: pd.Series | None = None
) -> Judged:
    scan = replace(vessel_task.failed_scan("DA-1", ""), state="scanned", incidents=incidents)
    return Judged(1, scan, day(BASELINE), day(LAST), labels, {} if score is None else {"rival": score})
