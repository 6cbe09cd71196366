"""Vent flow: the nozzle against isentropic equilibrium flow and the printed rules of thumb."""

import numpy as np
import pytest
from iapws import IAPWS97

from sevenppb.detect.physics import nozzle, steam

PSI, ATMOSPHERE = 6894.757, 101325.0  # Pa
LB, INCH = 0.45359237, 0.0254


def flux(psig, downstream=ATMOSPHERE):
    pressure = ATMOSPHERE + psig * PSI
    return float(nozzle.mass_flux(pressure, downstream, steam.density_vapour(pressure)))


def equilibrium_flux(psig, ratio):
    """Isentropic flow of steam that stays in equilibrium with its own wetness: h0 - h = w2/2, by
    IAPWS-IF97."""
    before = IAPWS97(P=(ATMOSPHERE + psig * PSI) / 1e6, x=1)
    after = IAPWS97(P=before.P * ratio, s=before.s)
    return np.sqrt(2e3 * (before.h - after.h)) / after.v


@pytest.mark.parametrize(
    ("psig", "printed"), [(3, 187.19), (15, 309.25), (50, 658.36), (100, 1148.8), (150, 1634.6)]
)
def test_choked_flux_is_that_of_equilibrium_flow(psig, printed):
    """Second way to the same number: the largest isentropic flux over downstream pressure."""
    largest = max(equilibrium_flux(psig, ratio) for ratio in np.linspace(0.56, 0.60, 9))
    assert abs(largest / printed - 1.0) < 2e-4
    assert abs(flux(psig, downstream=0.0) / largest - 1.0) < 2.5e-3


@pytest.mark.parametrize(("psig", "printed"), [(3, 151.6), (5, 191.6), (8, 235.3), (10, 258.4)])
def test_subcritical_flux_is_that_of_equilibrium_flow(psig, printed):
    there = equilibrium_flux(psig, ATMOSPHERE / (ATMOSPHERE + psig * PSI))
    assert abs(there / printed - 1.0) < 3e-4
    assert abs(flux(psig) / there - 1.0) < 1e-3


def test_napier_holds_where_the_flow_is_choked_and_not_below():
    """Valve Selection Handbook, p. 264: Napier's W [lb/h] = 51.43 A [in2] P1 [psia], choked dry saturated
    steam."""
    napier = {
        psig: 51.43 * (psig * PSI + ATMOSPHERE) / PSI * LB / 3600.0 / INCH**2 for psig in (3, 50, 100, 150)
    }
    for psig in (50, 100, 150):
        assert abs(napier[psig] / flux(psig) - 1.0) < 0.016
    assert napier[3] / flux(3) > 1.15  # a deaerator's vent passes less than Napier says


def test_pressure_above_which_a_vent_chokes():
    """10.7 psi gauge at sea level for saturated steam; the ratios 0.5774, 0.5457 and 0.5283 of k 1.135, 1.3
    and 1.4 (any textbook of gas dynamics)."""
    for k, ratio in ((1.135, 0.5774), (1.3, 0.5457), (1.4, 0.5283)):
        assert abs(nozzle.critical_ratio(k) - ratio) < 6e-5
    threshold = (ATMOSPHERE / nozzle.critical_ratio() - ATMOSPHERE) / PSI
    assert abs(threshold - 10.7) < 0.1
    for psig, choked in ((threshold - 0.5, False), (threshold + 0.5, True)):
        assert (flux(psig, ATMOSPHERE) == flux(psig, 0.9 * ATMOSPHERE)) is choked
