import numpy as np

from sevenppb.detect.physics import nozzle, steam


def test_both_regimes_meet_at_the_critical_ratio():
    below, at = nozzle.mass_flux(2e5, 2e5 * nozzle.critical_ratio() * np.array([1.0001, 1.0]), 1.129)
    assert abs(below / at - 1.0) < 1e-6
    assert float(nozzle.mass_flux(2e5, 1e3, 1.129)) == at


def test_flow_falls_to_nothing_and_never_runs_back():
    flux = nozzle.mass_flux(1.2e5, np.linspace(0.6e5, 1.2e5, 30), 0.7)
    assert np.all(np.diff(flux) <= 0)
    assert flux[-1] == 0.0
    assert float(nozzle.mass_flux(1.0e5, 1.2e5, 0.6)) == 0.0


def test_small_differential_is_bernoulli():
    """At 0.1 % of the pressure, sqrt(2 rho dp)."""
    found = float(nozzle.mass_flux(2e5, 2e5 - 200.0, 1.129))
    assert abs(found / np.sqrt(2.0 * 1.129 * 200.0) - 1.0) < 1e-3


def test_a_vent_passes_kilograms_an_hour():
    pressure = 1.36e5
    flow = 3600.0 * float(
        nozzle.orifice_flow(0.012, pressure, 101325.0, steam.density_vapour(pressure), 0.62)
    )
    assert 40.0 < flow < 60.0
    twice = 3600.0 * float(
        nozzle.orifice_flow(0.024, pressure, 101325.0, steam.density_vapour(pressure), 0.62)
    )
    assert abs(twice / flow - 4.0) < 1e-12


def test_nothing_gives_nothing():
    assert np.isnan(
        nozzle.mass_flux(np.array([np.nan, 1.2e5, 1.2e5]), [1e5, np.nan, 1e5], [0.7, 0.7, np.nan])
    ).all()
