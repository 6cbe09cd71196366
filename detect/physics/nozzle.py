"""Steam through a vent orifice and through a supply valve, choked or not.

Pressures are Pa absolute, densities kg/m3, flows kg/s. NaN gives NaN; no flow runs backwards (0 where
downstream is not below upstream). Sources: the isentropic nozzle of a perfect gas with exponent k, where k =
1.135 stands for dry saturated steam (Zeuner; against isentropic equilibrium flow by IAPWS-IF97 within 0.2 %
from 0.12 to 1.1 MPa); IEC 60534-2-1, Industrial-process control valves, sizing equations for compressible
fluids."""

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

SATURATED, SUPERHEATED = 1.135, 1.3  # isentropic exponents of steam
_PER_KV = np.sqrt(1000.0 / 1e5) / 3600.0  # Kv 1 passes 1 m3/h of water of 1000 kg/m3 at 1e5 Pa; N6 in SI


def critical_ratio(k: float = SATURATED) -> float:
    """Downstream over upstream pressure at and below which the flow is choked [1]: 0.577 for saturated
    steam."""
    return float((2.0 / (k + 1.0)) ** (k / (k - 1.0)))


def mass_flux(
    upstream_pa: npt.ArrayLike, downstream_pa: npt.ArrayLike, density: npt.ArrayLike, k: float = SATURATED
) -> Array:
    """Ideal flux [kg/(s m2)] of steam of this upstream density through a nozzle; an orifice passes its
    discharge coefficient times as much."""
    before = np.asarray(upstream_pa, dtype=np.float64)
    ratio = np.clip(np.asarray(downstream_pa, dtype=np.float64) / before, critical_ratio(k), 1.0)
    shape = ratio ** (2.0 / k) - ratio ** ((k + 1.0) / k)
    return np.sqrt(2.0 * k / (k - 1.0) * before * np.asarray(density, dtype=np.float64) * shape)


def orifice_flow(
    bore_m: npt.ArrayLike,
    upstream_pa: npt.ArrayLike,
    downstream_pa: npt.ArrayLike,
    density: npt.ArrayLike,
    discharge: float,
    k: float = SATURATED,
) -> Array:
    """Flow [kg/s] through a round hole of this bore [m] and discharge coefficient [1]."""
    area = np.pi / 4.0 * np.asarray(bore_m, dtype=np.float64) ** 2
    return np.asarray(discharge * area * mass_flux(upstream_pa, downstream_pa, density, k))


def valve_flow(
    kv: npt.ArrayLike,
    upstream_pa: npt.ArrayLike,
    downstream_pa: npt.ArrayLike,
    density: npt.ArrayLike,
    x_t: float,
    k: float = SUPERHEATED,
) -> Array:
    """Steam [kg/s] through a control valve of flow coefficient Kv [m3/h] at its opening.

    W = N6 Kv Y sqrt(x P1 rho1), Y = 1 - x/(3 Fk x_t), Fk = k/1.4, and x held at Fk x_t where the valve is
    choked. `x_t` is the valve's pressure-drop ratio at choking (0.6 to 0.75 for a globe valve: common
    practice, no source)."""
    before = np.asarray(upstream_pa, dtype=np.float64)
    choked = k / 1.4 * x_t
    x = np.clip(1.0 - np.asarray(downstream_pa, dtype=np.float64) / before, 0.0, choked)
    root = np.sqrt(x * before * np.asarray(density, dtype=np.float64))
    expansion = 1.0 - x / (3.0 * choked)
    return np.asarray(_PER_KV * np.asarray(kv, dtype=np.float64) * expansion * root)
