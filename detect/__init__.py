"""What readings say of deaerators: a whole fleet by `scan`, one vessel by `scan_vessel` and by the steps between.

    read_fleet → read_vessel → hour_marks → residual_days → find_episodes

docs/python.md goes through them. A name is looked up when it is first used: importing one module of this package
loads no other.
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sevenppb.detect.errors import Fault as Fault
    from sevenppb.detect.exports.read import read_vessel as read_vessel
    from sevenppb.detect.fleet import read_fleet as read_fleet
    from sevenppb.detect.fleet_scan import scan as scan
    from sevenppb.detect.vessel_scan import scan_vessel as scan_vessel
    from sevenppb.detect.vessel_steps import find_episodes as find_episodes
    from sevenppb.detect.vessel_steps import hour_marks as hour_marks
    from sevenppb.detect.vessel_steps import residual_days as residual_days

PUBLIC = {
    "Fault": "errors",
    "find_episodes": "vessel_steps",
    "hour_marks": "vessel_steps",
    "read_fleet": "fleet",
    "read_vessel": "exports.read",
    "residual_days": "vessel_steps",
    "scan": "fleet_scan",
    "scan_vessel": "vessel_scan",
}


def __getattr__(name: str) -> object:
    if name not in PUBLIC:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{PUBLIC[name]}"), name)


def __dir__() -> list[str]:
    return sorted(PUBLIC)
