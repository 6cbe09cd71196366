"""What several folders use: made-up vessels and their scans, each made once a session."""

from collections.abc import Callable, Iterator
from functools import cache

import made_vessels
import pandas as pd
import pytest
from hypothesis import settings
from threadpoolctl import threadpool_limits

from sevenppb.detect.fleet import Work
from sevenppb.detect.incidents.incident import VesselScan
from sevenppb.synthetic.simulation import Simulated

settings.register_profile("any machine", deadline=None)  # a busy one is no failure
settings.load_profile("any machine")

ScanOf = Callable[..., VesselScan]


@pytest.fixture(scope="session", autouse=True)
def _one_thread() -> Iterator[None]:
    """The matrices are small: more threads only fight for the cores."""
    with threadpool_limits(1):
        yield


@pytest.fixture(scope="session")
def made() -> dict[str, Simulated]:
    """The made-up vessels of made_vessels.CASES, by name."""
    return made_vessels.copies(made_vessels.CASES)


@pytest.fixture(scope="session")
def scan_of(made: dict[str, Simulated]) -> ScanOf:
    """The scan of a case, with the readings from `until` on left out, and with a record of work."""

    @cache
    def scan(case: str, until: pd.Timestamp | None = None, work: tuple[Work, ...] = ()) -> VesselScan:
        return made_vessels.scanned(made[case], until, work)

    return scan
