"""A healthy vessel's days, with every tag and with five."""

import diagnosed
import pytest

from sevenppb.synthetic.simulation import Simulated

FIVE_TAGS = ["shell_pressure", "storage_temperature", "steam_pressure", "inlet_flow", "inlet_temperature"]


@pytest.fixture(scope="session")
def full(made: dict[str, Simulated]) -> diagnosed.Bench:
    return diagnosed.bench(made["healthy"])


@pytest.fixture(scope="session")
def five(made: dict[str, Simulated]) -> diagnosed.Bench:
    return diagnosed.bench(made["healthy"], FIVE_TAGS)
