"""A sensor of a condition that drifts moves its own reading, and a healthy one does not follow the vessel's faults.

What the vessel does is judged given the conditions that are read, so that a new set point or colder condensate is no
fault. But whether a condition's reading moved together with the change tells its drift from a fault that would move the
same residuals. Conditions also move for their own reasons, and a reading that control holds still shows no drift.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sevenppb.detect.diagnosis.change import Change
from sevenppb.detect.diagnosis.explained import SIZES
from sevenppb.detect.diagnosis.signatures import SENSOR_STEPS, Candidate
from sevenppb.detect.drift import innovations
from sevenppb.detect.drift.innovations import Noise
from sevenppb.detect.expected import WANDER, Days

Array = NDArray[np.float64]

HELD = {  # by role: probability that control holds this very reading; common practice, no source
    "shell_pressure": 0.5,
    "inlet_temperature": 0.0,
}
MOVED = 0.1  # probability that a condition moved for its own reasons, whatever else did; common practice, no source
BROAD = 2.0  # it then moves by so many of the sensor's steps
STILL = 0.1  # of a step, by which a reading may move without meaning
BEFORE = 180  # days before a change from which its reading is compared
LEAST = 30  # days of the baseline that its noise is told from
_LOAD, _YEAR = 5.0, 2.0  # prior: steps per unit of ln(load), and by the time of year


@dataclass(frozen=True)
class Own:
    """A condition's own reading: daily means [n] in steps of its sensor's drift, the `terms` [n, T] that it may follow
    with their prior standard deviations [T], and its noise."""

    role: str
    reading: Array
    terms: Array
    prior: Array
    noise: Noise


def own_readings(days: Days, roles: frozenset[str]) -> tuple[Own, ...]:
    """Of the conditions whose sensors can be told so, those that are recorded and were read in the baseline."""
    year = 2.0 * np.pi * np.asarray(days.index.day_of_year) / 365.25
    load = np.log(days.at.flow)
    terms = np.column_stack([np.ones(len(year)), np.nan_to_num(load), np.cos(year), np.sin(year)])
    prior = np.array([np.inf, _LOAD, _YEAR, _YEAR])
    out = []
    for role in sorted(roles & HELD.keys()):
        reading = np.where(np.isnan(load), np.nan, getattr(days.at, role) / SENSOR_STEPS[role][0])
        healthy = np.where(days.baseline & (days.hours > 0), reading, np.nan)
        if np.count_nonzero(~np.isnan(healthy)) >= LEAST:
            noise = innovations.estimate_noise(healthy, terms, prior)
            out.append(Own(role, reading, terms, prior, noise))
    return tuple(out)


@dataclass(frozen=True)
class OwnMove:
    """By how many of its sensor's steps a condition's reading moved in the course of a change, with its standard error,
    and how far it may move so without meaning."""

    role: str
    moved: float
    error: float
    tolerance: float


def own_moves(own: tuple[Own, ...], change: Change) -> tuple[OwnMove, ...]:
    """Of the readings of which days before the change and during it say something."""
    rows = np.arange(len(change.course))
    out = []
    for one in own:
        present = ~np.isnan(one.reading) & (rows >= change.onset - BEFORE) & (rows < change.end)
        white = innovations.whitener(present, one.terms, one.prior, one.noise, np.ones(len(rows)))
        y, h = white(np.column_stack([one.reading, change.course])).T
        norm = float(h @ h)
        if norm > 1e-12:
            tolerance = float(np.hypot(STILL, WANDER * one.noise.sd))
            out.append(OwnMove(one.role, float(h @ y) / norm, norm**-0.5, tolerance))
    return tuple(out)


def log_ratio(moves: tuple[OwnMove, ...], candidate: Candidate) -> Array:
    """Of how likely the sensor's own reading is, by the sizes tried [SIZES]: with its drift over without."""
    known = [move for move in moves if candidate.cause == "sensor-drift" and move.role == candidate.role]
    if not known:
        return np.zeros(len(SIZES))
    drifts = _log_density(known[0], candidate.sign * SIZES) - _log_density(known[0], np.zeros(1))
    held = HELD[known[0].role]
    return np.asarray(np.log(held + (1.0 - held) * np.exp(drifts)))


def _log_density(move: OwnMove, mean: Array) -> Array:
    """Log density, less a constant, of a reading that moved about `mean`, for its own reasons or not."""
    variance = move.error**2 + move.tolerance**2
    each = [
        np.log(chance) - 0.5 * np.log(spread) - 0.5 * (move.moved - mean) ** 2 / spread
        for chance, spread in ((1.0 - MOVED, variance), (MOVED, variance + BROAD**2))
    ]
    return np.asarray(np.logaddexp(*each))
