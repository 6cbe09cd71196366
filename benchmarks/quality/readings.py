"""A made-up vessel's native readings → hourly readings, by the product's own checks but without files."""

from collections import Counter

import numpy as np
import pandas as pd

from sevenppb.detect import units
from sevenppb.detect.exports import gather, read
from sevenppb.detect.exports.gather import Counts, Gathered
from sevenppb.detect.exports.tag_units import Told
from sevenppb.detect.fleet import Vessel, reading_quantity
from sevenppb.detect.quality.readings import Readings
from sevenppb.detect.quality.screen import Screened, placed, screen
from sevenppb.detect.roles import ROLES
from sevenppb.detect.units import Unit
from sevenppb.synthetic.sensors import quantised
from sevenppb.synthetic.simulation import Simulated, assumed_barometer

GAUGE_ROLES = ("shell_pressure", "steam_pressure")
UNITS = {
    "pressure": "Pa abs",
    "difference": "Pa",
    "temperature": "degC",
    "flow": "kg/s",
    "fraction": "0-1",
    "oxygen": "ppb",
    "level": "0-1",
}


def vessel_of(made: Simulated, baseline_days: int) -> Vessel:
    """What a fleet file would say about the vessel."""
    return Vessel(
        id=made.spec.id,
        exports=(),
        layout="auto",
        tags={},
        capacity=made.spec.rated,
        baseline=pd.Timedelta(days=baseline_days),
        barometer=made.spec.barometer,
        vent_bore=None,
        limits={},
        work=(),
    )


def readings_of(made: Simulated, vessel: Vessel) -> Readings:
    """The vessel's readings screened, judged and brought to hours as if read from exports."""
    time = made.readings.index.as_unit("us").asi8
    assumed = assumed_barometer(made.spec, made.readings)
    tags: dict[str, Screened] = {}
    told: dict[str, Told] = {}
    counts: dict[str, Counts] = {}
    for role, column in made.readings.items():
        values = column.to_numpy(dtype=np.float64)
        gauge = made.spec.gauge_transmitters and role in GAUGE_ROLES
        if gauge:  # back to what the transmitter showed: only that stands still when it is stuck
            values = quantised(role, values - assumed)
        unit = _unit(role, gauge)
        here = ~np.isnan(values)
        limits = gather.limits_of(role, unit, vessel.barometer)
        tags[role] = screen(time[here], values[here], None, limits)
        told[role] = Told(unit, (None,), ())
        counts[role] = Counts(int(here.sum()), Counter(), 0, 0)
    filled = [tag for tag in tags.values() if len(tag.hours.count)]
    first = min(tag.first_hour for tag in filled)
    last = max(tag.first_hour + len(tag.hours.count) for tag in filled)
    tags = {role: placed(tag, first, last - first) for role, tag in tags.items()}
    return read.readings(vessel, Gathered(tags, told, counts, (), ()))


def _unit(role: str, gauge: bool) -> Unit:
    text = "Pa gauge" if gauge else UNITS[ROLES[role].quantity]
    return units.resolve(text, reading_quantity(role))
