"""What is known beforehand of subcooling's noise where no barometer is recorded."""

import numpy as np
import pytest

from sevenppb.detect import weather
from sevenppb.detect.drift.innovations import Noise

SHELL = np.full(100, 1.36e5)
STILL = np.full(100, 101325.0)
# saturation near 1.36 bar rises by 0.022 K a hPa (from memory): 8 hPa are 0.18 K
SEEN = Noise(sd=0.2, phi=0.8, doubt=0.08)


def test_the_weathers_share_of_the_noise_is_in_no_doubt():
    known = weather.noise_of_subcooling(SEEN, STILL, SHELL)
    assert (known.sd, known.phi) == (SEEN.sd, SEEN.phi)
    assert weather.DOUBT < known.doubt < 0.02
    mostly_other = weather.noise_of_subcooling(Noise(0.6, 0.8, 0.08), STILL, SHELL)
    assert 0.07 < mostly_other.doubt <= 0.08


@pytest.mark.parametrize(
    ("noise", "barometer"),
    [
        (SEEN, STILL + 800 * np.sin(np.arange(100))),
        (Noise(0.1, 0.8, 0.08), STILL),
        (Noise(0.3, 0.1, 0.005), STILL),
    ],
    ids=["a barometer is read", "too little to hold the weather: absolute pressure", "in less doubt already"],
)
def test_elsewhere_nothing_is_known(noise, barometer):
    assert weather.noise_of_subcooling(noise, barometer, SHELL) == noise
