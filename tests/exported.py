"""A made-up vessel written as exports, and the fleet that names them."""

from dataclasses import replace
from pathlib import Path

import made_vessels
import pandas as pd

from sevenppb.detect.exports.read import read_vessel
from sevenppb.detect.fleet import Fleet, TagRef, Vessel
from sevenppb.detect.quality.readings import Readings
from sevenppb.synthetic import forms
from sevenppb.synthetic.simulation import Simulated

ZONE = "Europe/Oslo"


def written(folder: Path, made: Simulated, form: str) -> Vessel:
    """The vessel with its exports, written into the folder in a form of synthetic.forms."""
    shape = next(f for f in forms.FORMS if f.name == form)
    found = forms.write_vessel(folder, 1, made, shape, ZONE)
    return replace(
        made_vessels.described(made),
        exports=tuple(str(folder / export) for export in found.exports),
        layout=found.layout,
        tags={role: TagRef(tag, unit) for role, (tag, unit) in found.tags.items()},
    )


def read(vessel: Vessel, until: pd.Timestamp | None = None) -> Readings:
    return read_vessel(
        vessel, Fleet("Northmere", Path("fleet.toml"), ZONE, "si", None, (vessel,)), None, until
    )
