"""Days of three residuals, made of noise alone, for tests of what is told from residuals and of no plant."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
from scipy.signal import lfilter

from sevenppb.detect.diagnosis.signatures import Candidate, Signatures
from sevenppb.detect.drift.innovations import Noise
from sevenppb.detect.expected import Days

COUNT, BASELINE = 330, 210
FEATURES = ("subcooling", "vent_temperature", "steam_flow")
NOISE = (Noise(0.5, 0.4), Noise(2.0, 0.0), Noise(0.02, 0.6))
SD = np.array([noise.sd for noise in NOISE])
# kg/s; what is told from residuals asks for no more of a plant
LOAD = 40.0 + 8.0 * np.sin(2 * np.pi * np.arange(COUNT) / 17.0) - 6.0 * (np.arange(COUNT) % 7 >= 5)
_NO_PLANT = SimpleNamespace()


def days(seed: int = 1) -> Days:
    """Noise that remembers, about a level that is not known beforehand and a wave of known form."""
    rng = np.random.default_rng(seed)
    columns = [
        noise.sd
        * lfilter([np.sqrt(1 - noise.phi**2)], [1.0, -noise.phi], rng.standard_normal(COUNT + 50))[50:]
        for noise in NOISE
    ]
    wave = np.cos(2 * np.pi * np.arange(COUNT) / 60.0)
    return Days(
        index=pd.date_range("2023-01-01", periods=COUNT, freq="D", tz="UTC"),
        baseline=np.arange(COUNT) < BASELINE,
        features=FEATURES,
        residual=np.column_stack(columns) + 3.0 * SD,
        terms=np.column_stack([np.ones(COUNT), wave]),
        term_names=("level", "wave"),
        prior=np.column_stack([np.full(3, np.inf), 0.5 * SD]),
        weight=np.ones((COUNT, 3)),
        noise=NOISE,
        hours=np.full(COUNT, 24.0),
        seen=pd.DataFrame(),
        balance=np.zeros((COUNT, 3)),
        at=SimpleNamespace(flow=LOAD),
        fitted=_NO_PLANT,
        swing=0.1,
        coarse=np.zeros(3),
    )


def moved(made: Days, by: np.ndarray, course: np.ndarray) -> Days:
    """With the residuals moved by so many of their standard deviations [F], along a course [n]."""
    return replace(made, residual=made.residual + np.outer(course, by * SD))


def step(onset: int) -> np.ndarray:
    return (np.arange(COUNT) >= onset).astype(float)


def ramp(onset: int, full: int) -> np.ndarray:
    return np.clip((np.arange(COUNT) - onset + 1.0) / (full - onset + 1.0), 0.0, 1.0)


def signed(*directions: tuple[float, float, float]) -> Signatures:
    """A candidate a direction, in standard deviations of the residuals."""
    candidates = tuple(Candidate(f"cause {k}", None, 1, 0.4, True) for k in range(len(directions)))
    moves = np.broadcast_to((np.array(directions) * SD).T, (COUNT, 3, len(directions)))
    return Signatures(candidates, np.array(moves))
