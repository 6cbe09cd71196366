"""The air's pressure where no barometer is recorded. Most shell pressures are read against it, so that subcooling
wanders with the weather, by an amount that is known beforehand."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from sevenppb.detect.drift.innovations import Noise
from sevenppb.detect.limits import WEATHER
from sevenppb.detect.physics import steam

Array = NDArray[np.float64]

DOUBT = 0.01  # variance of the logarithm of the weather's own size: a place's differs by a tenth


def noise_of_subcooling(noise: Noise, barometer: Array, shell_pressure: Array) -> Noise:
    """Subcooling's noise as a baseline tells it; in less doubt by the share that is the weather's, where that is in it:
    no `barometer` [Pa] was read, so that it stands still, and the noise is large enough to hold the weather.

    barometer, shell_pressure   [n] Pa in the baseline's hours"""
    pressure = float(np.nanmedian(shell_pressure))
    weather = float(steam.saturation_temperature(pressure + WEATHER) - steam.saturation_temperature(pressure))
    if np.nanstd(barometer) > 1.0 or noise.sd < weather:
        return noise
    rest = 1.0 - (weather / noise.sd) ** 2
    return replace(noise, doubt=min(noise.doubt, rest**2 * noise.doubt + DOUBT))
