"""When the vessel runs and when it stands, by the water that flows through it."""

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from sevenppb.detect.quality.hourly import Floats, Hours

_WATER = ("outlet_flow", "inlet_flow")
_STANDING = 0.05  # of the usual flow: below it the vessel stands
_LOADED = 0.3  # of the usual flow: above it steam and water flow everywhere

Bools = npt.NDArray[np.bool_]


def load(tags: Mapping[str, Hours]) -> Floats | None:
    """The vessel's water flow by hour as a share of the usual one, the highest of its meters (NaN: none has readings);
    None where no tag is a water flow."""
    shares = []
    for role in _WATER:
        if role in tags and tags[role].count.any():
            usual = float(np.nanquantile(tags[role].median, 0.9))
            shares.append(tags[role].median / usual if usual > 0 else np.zeros(len(tags[role].median)))
    return np.fmax.reduce(shares) if shares else None


def stands(load: Floats | None, hours: int) -> Bools:
    """In which hours the vessel stands, as far as its water flow tells."""
    return np.zeros(hours, dtype=np.bool_) if load is None else load < _STANDING


def loaded(load: Floats | None, hours: int) -> Bools:
    """In which hours so much water flows that every meter must show something."""
    return np.zeros(hours, dtype=np.bool_) if load is None else load >= _LOADED
