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
