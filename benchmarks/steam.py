"""Interpolated steam beside iapws, one point at a time: points a second, and how many times as many.

python benchmarks/steam.py [points]
"""

import sys
import time
from collections.abc import Callable

import numpy as np
from iapws import IAPWS97
from iapws.iapws97 import _TSat_P

from sevenppb.detect.physics import steam

POINTS = 200_000
ROUNDS = 5


def rate(work: Callable[[], object], points: int) -> float:
    """Points a second, the best of a few rounds: the machine may be shared."""
    best = np.inf
    for _ in range(ROUNDS):
        start = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - start)
    return float(points / best)


def compare(points: int) -> list[tuple[str, float, float]]:
    """(quantity, points a second here, points a second by iapws)."""
    pressure = np.exp(np.random.default_rng(0).uniform(np.log(1e5), np.log(1e6), points))
    celsius = steam.saturation_temperature(pressure)
    few = (pressure[: max(1, points // 1000)] / 1e6).tolist()
    hotter = celsius + 30.0
    steam.enthalpy_vapour(pressure[:1])
    steam.enthalpy_steam(pressure[:1], hotter[:1])  # the interpolants are built at first use
    saturated = rate(lambda: [IAPWS97(P=p, x=1) for p in few], len(few))
    liquid = rate(lambda: [IAPWS97(P=p, x=0) for p in few], len(few))
    superheated = rate(lambda: [IAPWS97(P=p, T=500.0) for p in few], len(few))
    return [
        (
            "saturation temperature",
            rate(lambda: steam.saturation_temperature(pressure), points),
            rate(lambda: [_TSat_P(p) for p in few], len(few)),
        ),
        ("enthalpy, liquid", rate(lambda: steam.enthalpy_liquid(celsius), points), liquid),
        ("enthalpy, vapour", rate(lambda: steam.enthalpy_vapour(pressure), points), saturated),
        ("density, vapour", rate(lambda: steam.density_vapour(pressure), points), saturated),
        ("enthalpy, superheated", rate(lambda: steam.enthalpy_steam(pressure, hotter), points), superheated),
    ]


def main() -> None:
    points = int(sys.argv[1]) if len(sys.argv) > 1 else POINTS
    print(f"{'':24}{'here, M/s':>12}{'iapws, M/s':>12}{'ratio':>10}")
    for name, here, there in compare(points):
        print(f"{name:24}{here / 1e6:12.1f}{there / 1e6:12.4f}{here / there:10.0f}")


if __name__ == "__main__":
    main()
