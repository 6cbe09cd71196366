"""Health parameters of the forward model: their healthy values, bounds and spread between plants.

Every parameter is positive and moves on a log scale, except those with `additive`.
Priors are wide and stand for "a deaerator like most": common practice, no source.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sevenppb.detect.limits import HEAT_LOSS, HEAT_LOSS_DOUBT, VENT_SHARE
from sevenppb.detect.physics.sprays import Curve

FLOOD_MARGIN = 1.6  # flooding load of sound trays over the usual load; common practice, no source


@dataclass(frozen=True)
class Health:
    """What the balance model needs to know of one vessel beyond its operating conditions.

    flow                 reference water flow [kg/s]: the median of the baseline, not fitted
    pressure             reference shell pressure, absolute [Pa], not fitted
    supply               reference steam supply pressure, absolute [Pa], not fitted
    barometer            reference barometer [Pa], not fitted
    makeup_share         reference share of make-up in the water [1], not fitted; NaN where it isn't recorded
    spray_transfer       transfer units of heat over the sprays at the reference flow [1]
    tray_transfer        transfer units of heat over the trays (or the scrubber) [1]
    spray_oxygen         transfer units of oxygen per transfer unit of heat, over the sprays [1]
    tray_oxygen          the same over the trays [1]
    spray_openness       spray flow area over its healthy value [1]
    spray_differential   spray differential at the reference flow [Pa]
    spray_exponent       exponent of the differential on flow [1]: 2 for fixed openings, less with springs
    vent_openness        vent area over its healthy value [1]
    vent_share           vent flow over water flow at the reference [kg/kg]
    vent_line            cooling of the vent line at the reference vent flow [1]: heat loss over heat capacity flow
    vent_throttled       share of that which is throttling to the air and no cooling [1]: 0 ahead of the orifice
    supply_capacity      steam supply's flow area over its healthy value [1]
    valve_opening        steam valve opening at the reference [1]
    valve_curve          exponent of opening on relative flow area [1]
    inlet_gas            usual inlet oxygen [ppb]; where it is measured the reading takes its place in the gas balance
    flood_margin         flooding load over the reference flow [1]
    heat_loss            fall of temperature by heat loss at the reference flow [K]
    gas_mixing           gas that the water meets over the sprays over that in the vented vapour [1]
    """

    flow: float
    pressure: float
    supply: float
    barometer: float
    makeup_share: float = np.nan
    spray_transfer: float = 2.5
    tray_transfer: float = 2.5
    spray_oxygen: float = 1.3
    tray_oxygen: float = 1.3
    spray_openness: float = 1.0
    spray_differential: float = 4.0e4
    spray_exponent: float = 1.6
    vent_openness: float = 1.0
    vent_share: float = VENT_SHARE
    vent_line: float = 0.03
    vent_throttled: float = 0.5
    supply_capacity: float = 1.0
    valve_opening: float = 0.5
    valve_curve: float = 0.6
    inlet_gas: float = 3000.0
    flood_margin: float = FLOOD_MARGIN
    heat_loss: float = HEAT_LOSS
    gas_mixing: float = 0.6

    def moved(self, parameter: str, by: float | NDArray[np.float64]) -> "Health":
        """This health with one parameter moved: by a log step, or by an additive one [the parameter's unit]. With a
        column of K steps [K, 1], K healths in one."""
        return self.moved_by({parameter: by})

    def moved_by(self, steps: Mapping[str, float | NDArray[np.float64]]) -> "Health":
        """The same with several parameters moved, by parameter."""
        old = {name: getattr(self, name) for name in steps}
        return replace(
            self,
            **{
                name: old[name] + by if name in ADDITIVE else old[name] * np.exp(by)
                for name, by in steps.items()
            },
        )

    @property
    def spray_curve(self) -> Curve:
        """The healthy sprays: differential against flow."""
        return Curve(self.flow, self.spray_differential, self.spray_exponent)


# Readings that show a parameter directly: the move is nearly arithmetic, not a matter of the plant's kind.
DIRECT = {"vent_openness": "vent_flow", "spray_openness": "spray_differential", "inlet_gas": "inlet_oxygen"}

# Parameters that show nothing of their fall until a load meets them.
HIDDEN = frozenset({"flood_margin"})

# Parameters whose fall shows above some load, and more the further above: there trays hold water up and a steam valve
# has no more to give.
BY_LOAD = HIDDEN | {"supply_capacity"}

ADDITIVE = frozenset({"heat_loss", "vent_throttled"})

# Parameters fitted to the baseline: (name, standard deviation of the prior on its own scale, low, high).
# The three that faults move from 1 stay at 1: at the baseline they only rename the reference.
FITTED: tuple[tuple[str, float, float, float], ...] = (
    ("spray_transfer", 0.5, 0.5, 8.0),
    ("tray_transfer", 0.5, 0.3, 8.0),
    ("spray_oxygen", 0.4, 0.3, 5.0),
    ("tray_oxygen", 0.4, 0.3, 5.0),
    ("spray_differential", 1.5, 5e2, 5e5),
    ("spray_exponent", 0.35, 0.5, 2.4),
    ("vent_share", 0.8, 5e-5, 3e-2),
    ("vent_line", 1.0, 1e-3, 0.5),
    ("vent_throttled", 0.35, 0.0, 1.0),
    ("valve_opening", 0.7, 0.02, 1.0),
    ("valve_curve", 0.5, 0.2, 2.5),
    ("gas_mixing", 0.6, 0.05, 1.0),
    ("inlet_gas", 0.8, 30.0, 1.5e4),
    ("heat_loss", HEAT_LOSS_DOUBT, 0.0, 5.0),
)
