"""Vent loss: what the orifice passes, whether the line is warm, and how to weigh several answers."""

from collections.abc import Iterable

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from sevenppb.detect.limits import AMBIENT
from sevenppb.detect.physics import nozzle, steam
from sevenppb.detect.roles import ROLES

Array = NDArray[np.float64]

DISCHARGE = 0.6  # of a sharp-edged vent orifice; with it Napier's form reads 24.24 P D²: htfbw.com 59834
DISCHARGE_DOUBT = 0.15  # relative: edge, pipe and valve are never quite as drawn; common practice, no source


def by_orifice(readings: pd.DataFrame, barometer: Array, bore: float) -> tuple[Array, Array]:
    """Vent flow [kg/s] through a clean orifice of this bore [m] to the barometer [Pa], and its standard
    uncertainty.

    A vent valve's opening counts as its share of the bore. A line as cold as the room says that the bore may
    pass nothing: what its temperature lacks is added to the relative uncertainty.
    """
    pressure = readings["shell_pressure"].to_numpy(dtype=float)
    valve = ROLES["vent_valve"]
    opening = readings["vent_valve"].to_numpy(dtype=float).clip(0.0, 1.0) if valve.name in readings else 1.0
    opening_sd = valve.accuracy if valve.name in readings else 0.0

    def through(shell: Array) -> Array:
        return nozzle.orifice_flow(bore, shell, barometer, steam.density_vapour(shell), DISCHARGE)

    whole = through(pressure)
    gauge_sd = np.hypot(ROLES["shell_pressure"].accuracy, ROLES["barometric_pressure"].accuracy)
    by_pressure = through(pressure + gauge_sd) - whole
    cold = 1.0 - np.nan_to_num(warmth(readings), nan=1.0).clip(0.0, 1.0)
    flow = whole * opening
    doubt = np.hypot(DISCHARGE_DOUBT, cold) * flow
    return flow, np.sqrt(doubt**2 + (by_pressure * opening) ** 2 + (whole * opening_sd) ** 2)


def warmth(readings: pd.DataFrame) -> Array:
    """How warm the vent line is [1]: 1 as the steam in the shell, 0 as the room. NaN where it isn't measured.

    An indicator only: a line that passes is warm, but how warm hangs on its length and lagging.
    """
    if "vent_temperature" not in readings:
        return np.full(len(readings), np.nan)
    boiling = steam.saturation_temperature(readings["shell_pressure"].to_numpy(dtype=float))
    return np.asarray((readings["vent_temperature"].to_numpy(dtype=float) - AMBIENT) / (boiling - AMBIENT))


def combined(answers: Iterable[tuple[Array, Array]]) -> tuple[Array, Array]:
    """(value, standard uncertainty) of several independent answers, weighted by their inverse variances. An
    answer without value or uncertainty has no say; where answers differ by more than their uncertainties
    allow, the common one is widened to match (Birge's ratio: Birge 1932, Physical Review 40, 207)."""
    value, sd = (np.stack(part) for part in zip(*answers, strict=True))
    known = ~np.isnan(value) & (sd > 0)
    weight = np.where(known, 1.0 / np.where(known, sd, 1.0) ** 2, 0.0)
    value = np.where(known, value, 0.0)
    whole = weight.sum(axis=0)
    whole = np.where(whole > 0, whole, np.nan)
    mean = (weight * value).sum(axis=0) / whole
    spread = (weight * (value - mean) ** 2).sum(axis=0) / np.maximum(known.sum(axis=0) - 1, 1)
    return mean, np.sqrt(np.maximum(spread, 1.0) / whole)
