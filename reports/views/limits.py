"""Which limit holds for which feature of a vessel."""

from sevenppb.detect.fleet import Vessel
from sevenppb.detect.limits import LIMITS


def limits_of(vessel: Vessel) -> dict[str, float]:
    """The vessel's limits in the units used inside: the fleet file's, over the published ones."""
    return {name: limit.value for name, limit in LIMITS.items()} | vessel.limits
