"""A healthy vessel's days, with every tag and with five."""

import diagnosed
import pytest

from sevenppb.synthetic.simulation import Simulated


@pytest.fixture(scope="session")
def full(made: dict[str, Simulated]) -> diagnosed.Bench:
    return diagnosed.bench(made["healthy"])


@pytest.fixture(scope="session")
def five(made: dict[str, Simulated]) -> diagnosed.Bench:
    return diagnosed.bench(made["healthy"], diagnosed.FIVE_TAGS)
