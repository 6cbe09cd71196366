"""What several folders use: made-up vessels and their scans, each made once a session, and a cluster."""

import socket
import subprocess
import sys
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path

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


@pytest.fixture
def cluster_of_two(
    tmp_path: Path,
) -> Iterator[tuple[str, "subprocess.Popen[bytes]", list["subprocess.Popen[bytes]"]]]:
    """The scheduler's address, its process, and those of the two workers, who are there."""
    distributed = pytest.importorskip("distributed")

    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        address = f"tcp://127.0.0.1:{free.getsockname()[1]}"
    dask = [sys.executable, "-m", "distributed.cli"]
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "cwd": tmp_path}
    port = address.rpartition(":")[2]
    head = subprocess.Popen(
        [
            *dask[:2],
            "distributed.cli.dask_scheduler",
            "--host",
            "127.0.0.1",
            "--port",
            port,
            "--no-dashboard",
        ],
        **quiet,  # type: ignore[call-overload]
    )
    worker = [
        *dask[:2],
        "distributed.cli.dask_worker",
        address,
        "--nthreads",
        "1",
        "--no-nanny",
        "--no-dashboard",
    ]
    hands = [subprocess.Popen(worker, **quiet) for _ in range(2)]  # type: ignore[call-overload]
    with distributed.Client(address, timeout=15, set_as_default=False) as client:
        client.wait_for_workers(2, timeout=15)
    yield address, head, hands
    for process in (*hands, head):
        process.kill()
        process.wait()
