"""Steam through an orifice, choked or not.

Pressures are Pa absolute, densities kg/m3, flows kg/s. NaN gives NaN; no flow runs backwards (0 where
downstream is not below upstream). Source: the isentropic nozzle of a perfect gas with exponent k, where k =
1.135 stands for dry saturated steam (Zeuner; against isentropic equilibrium flow by IAPWS-IF97 within 0.2 %
from 0.12 to 1.1 MPa)."""

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

SATURATED = 1.135  # isentropic exponent of dry saturated steam


def critical_ratio(k: float = SATURATED) -> float:
    """Downstream over upstream pressure at and below which the flow is choked [1]: 0.577 for saturated
    steam."""
    return float((2.0 / (k + 1.0)) ** (k / (k - 1.0)))


def mass_flux(upstream_pa: npt.ArrayLike, downstream_pa: npt.ArrayLike, density: npt.ArrayLike) -> Array:
    """Ideal flux [kg/(s m2)] of saturated steam of this upstream density through a nozzle; an orifice passes
    its discharge coefficient times as much."""
    k = SATURATED
    before = np.asarray(upstream_pa, dtype=np.float64)
    ratio = np.clip(np.asarray(downstream_pa, dtype=np.float64) / before, critical_ratio(), 1.0)
    shape = ratio ** (2.0 / k) - ratio ** ((k + 1.0) / k)
    return np.sqrt(2.0 * k / (k - 1.0) * before * np.asarray(density, dtype=np.float64) * shape)


def orifice_flow(
    bore_m: npt.ArrayLike,
    upstream_pa: npt.ArrayLike,
    downstream_pa: npt.ArrayLike,
    density: npt.ArrayLike,
    discharge: float,
) -> Array:
    """Flow [kg/s] through a round hole of this bore [m] and discharge coefficient [1]."""
    area = np.pi / 4.0 * np.asarray(bore_m, dtype=np.float64) ** 2
    return np.asarray(discharge * area * mass_flux(upstream_pa, downstream_pa, density))
