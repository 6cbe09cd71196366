import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
import small_fleet

from sevenppb.detect import fleet_scan
from sevenppb.detect.fleet import Fleet
from sevenppb.detect.incidents.incident import FleetScan


@pytest.fixture(scope="session")
def written_fleet(tmp_path_factory: pytest.TempPathFactory) -> Fleet:
    """Three vessels; their exports are not to be changed."""
    return small_fleet.written(tmp_path_factory.mktemp("fleet"))


@pytest.fixture(scope="session")
def kept_scan(written_fleet: Fleet, tmp_path_factory: pytest.TempPathFactory) -> tuple[FleetScan, Path]:
    """Their scan, and the folder of its results, not to be changed."""
    keep = tmp_path_factory.mktemp("kept")
    return fleet_scan.scan(written_fleet, keep=keep), keep


@pytest.fixture
def cluster_of_two(
    tmp_path: Path,
) -> Iterator[tuple[str, "subprocess.Popen[bytes]", list["subprocess.Popen[bytes]"]]]:
    """The scheduler's address, its process, and those of the two workers, who are there."""
    from distributed import Client

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
    with Client(address, timeout=15, set_as_default=False) as client:
        client.wait_for_workers(2, timeout=15)
    yield address, head, hands
    for process in (*hands, head):
        process.kill()
        process.wait()
