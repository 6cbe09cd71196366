"""The health fitted to the baseline as the reports show it: natural units, an interval, what was not determined."""

import numpy as np

from sevenppb.detect.balance import health as table
from sevenppb.detect.balance.fit import Fitted
from sevenppb.detect.balance.health import Health
from sevenppb.detect.incidents.incident import HealthParameter

NINETY = 1.645  # standard errors to each end of a 90 % interval

UNITS = {
    "spray_differential": "Pa",
    "vent_share": "fraction",
    "valve_opening": "fraction",
    "inlet_gas": "ppb",
    "heat_loss": "K",
}


def baseline_health(fitted: Fitted) -> tuple[HealthParameter, ...]:
    """A row a fitted parameter, in the order of the table of parameters; a parameter without a unit is a number."""
    rows = []
    usual = Health(fitted.health.flow, fitted.health.pressure, fitted.health.supply, fitted.health.barometer)
    for name, _, lowest, highest in table.FITTED:
        reach = NINETY * fitted.error[name]
        ends = [float(getattr(fitted.health.moved(name, by), name)) for by in (-reach, reach)]
        low, high = np.clip(ends, lowest, highest).tolist()
        rows.append(
            HealthParameter(
                parameter=name,
                value=float(getattr(fitted.health, name)),
                low=low,
                high=high,
                unit=UNITS.get(name, ""),
                usual=float(getattr(usual, name)),
                determined=name not in fitted.undetermined,
            )
        )
    return tuple(rows)
