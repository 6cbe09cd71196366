"""A vessel whose readings balance, worked out with iapws: where the features' and the meters' tests start."""

from collections.abc import Callable

import pandas as pd
import pytest
from iapws import IAPWS97


def enthalpy(**state: float) -> float:
    return float(IAPWS97(**state).h) * 1e3


@pytest.fixture
def heated() -> Callable[[pd.DatetimeIndex], pd.DataFrame]:
    """Readings on an index: 20 kg/s heated from 85 degC at 2 bar by superheated steam to 0.5 K below boiling,
    with a heat loss that cools the water by 0.2 K, half of it where steam is, and 0.1 % vented."""
    shell, supply = 0.2, 1.0  # MPa
    boiling = IAPWS97(P=shell, x=0).T
    hot, vapour = enthalpy(T=boiling - 0.5, x=0), enthalpy(P=shell, x=1)
    cold, hotter = enthalpy(T=85.0 + 273.15, x=0), enthalpy(P=supply, T=200.0 + 273.15)
    inlet, vented, loss = 20.0, 0.02, 2 * 0.2 * 4230.0 * 20.0
    steam = (loss + inlet * (hot - cold) + vented * (vapour - hot)) / (hotter - hot)
    row = {
        "shell_pressure": shell * 1e6,
        "storage_temperature": boiling - 0.5 - 273.15,
        "steam_pressure": supply * 1e6,
        "steam_temperature": 200.0,
        "steam_flow": steam,
        "inlet_flow": inlet,
        "inlet_temperature": 85.0,
        "outlet_flow": inlet + steam - vented,
        "vent_temperature": boiling - 273.15,
        "inlet_oxygen": 3000.0,
        "outlet_oxygen": 3.0,
    }
    return lambda index: pd.DataFrame(row, index=index)
