"""Brings drawn vessels to their targets at usual load: vent flow, valve opening, outlet oxygen, subcooling.

The plant itself is run at constant drivers and the sizes are corrected by what it shows, so that no second,
simplified model stands beside it.
"""

from dataclasses import fields, replace

import numpy as np

from sevenppb.synthetic.plant import Drivers, States, run
from sevenppb.synthetic.steam import Array, air_saturated_oxygen, ln_bar, steam
from sevenppb.synthetic.vessel import (
    NITROGEN_BESIDE_OXYGEN,
    Sizes,
    VesselSpec,
    superheated_enthalpy,
    supply_root,
)

ROUNDS = 9
SETTLING_STEPS = 40
STEP_MINUTES = 5.0
USUAL_LOAD = 0.8
RAW_WATER = 12.0  # °C over the year


def constant_drivers(specs: list[VesselSpec], load: float, steps: int) -> Drivers:
    """Drivers that hold every vessel at `load` (share of rated) in healthy state and mean weather."""
    z = Sizes.stack(specs)
    shell = z["gauge"] + z["barometer"]
    outflow = load * z["rated"]
    raw = RAW_WATER + z["makeup_warmed"]
    inlet = z["makeup_share"] * raw + (1 - z["makeup_share"]) * z["condensate_temperature"]
    dissolved = z["makeup_share"] * 0.95 * air_saturated_oxygen(np.full_like(raw, RAW_WATER), z["barometer"])
    dissolved += (1 - z["makeup_share"]) * z["condensate_oxygen"]
    one, s = np.ones_like(shell), steam()
    rows = Drivers(
        outflow=outflow,
        inlet_enthalpy=s.enthalpy(inlet),
        inlet_oxygen=dissolved,
        inlet_nitrogen=NITROGEN_BESIDE_OXYGEN * dissolved,
        header_pressure=z["header"],
        header_root=supply_root(z["header"], z["superheat"]),
        steam_enthalpy=superheated_enthalpy(z["header"], z["superheat"]),
        ambient=10.0 * one,
        exposure=one,
        barometer=z["barometer"],
        set_pressure=shell,
        running=one,
        drain_flow=z["drain_share"] * outflow,
        drain_enthalpy=s.enthalpy(s.saturation(ln_bar(shell)) + z["drain_above"]),
        spray_area=one,
        spray_cover=one,
        spray_spring=one,
        vent_area=z["vent_area"],
        vent_condensing=z["vent_condensing"],
        supply=one,
        trays=one,
        flood_load=z["flood_load"],
        extra_loss=0 * one,
    )
    return Drivers(**{f.name: np.tile(getattr(rows, f.name), (steps, 1)) for f in fields(Drivers)})


def subcooling(pressure: Array, storage_enthalpy: Array) -> Array:
    """Saturation temperature at `pressure` [Pa] less the storage's temperature [K]."""
    s = steam()
    return np.asarray(s.saturation(ln_bar(pressure)) - s.temperature(storage_enthalpy))


def settled(specs: list[VesselSpec], load: float = USUAL_LOAD) -> States:
    """The states after some hours at constant drivers, rows being the last of them."""
    states = run(Sizes.stack(specs), constant_drivers(specs, load, SETTLING_STEPS), STEP_MINUTES)
    return States(**{f.name: getattr(states, f.name)[-1:] for f in fields(States)})


def tuned(specs: list[VesselSpec]) -> list[VesselSpec]:
    """The same vessels with vent area, valve capacity, tray transfer and its share for oxygen corrected until
    the targets hold at usual load; a target that the sizes cannot reach is met as nearly as bounds allow."""
    for _ in range(ROUNDS):
        shown = settled(specs)
        shortfall = subcooling(shown.pressure, shown.storage_enthalpy)[0]
        specs = [
            replace(
                spec,
                vent_area=float(spec.vent_area * spec.vent_design / max(shown.vent_flow[0, k], 1e-9)),
                valve_capacity=float(
                    spec.valve_capacity * np.clip(shown.valve_area[0, k] / spec.target_opening, 0.3, 3.0)
                ),
                tray_units=float(
                    np.clip(
                        spec.tray_units + 0.7 * np.log(max(shortfall[k], 0.02) / spec.target_subcooling),
                        0.5,
                        6.0,
                    )
                ),
                tray_oxygen=float(
                    np.clip(
                        spec.tray_oxygen
                        + 0.7 * np.log(shown.storage_oxygen[0, k] / spec.target_oxygen) / spec.tray_units,
                        0.4,
                        6.0,
                    )
                ),
            )
            for k, spec in enumerate(specs)
        ]
    return specs
