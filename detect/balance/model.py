"""The one forward function: operating conditions and health → expected readings.

A deaerator in three zones: sprays heat and strip the water against the vapour that leaves for the vent,
trays (or a scrubber) finish both against fresh steam, storage loses a little heat. All steady state, arrays in and out.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from sevenppb.detect.balance.health import FLOOD_MARGIN, Health
from sevenppb.detect.limits import AMBIENT
from sevenppb.detect.physics import heat, nozzle, oxygen, sprays, steam
from sevenppb.detect.physics.heat import Heater, Stream

Array = NDArray[np.float64]

FLOOD_SHARPNESS = 6.0  # exponent with which trays fail beyond their flooding load; common practice, no source
USUAL_STEAM = 0.08  # kg steam per kg water: a round figure, only to make valve areas dimensionless
MOST_GAS = 0.7  # share of the shell's pressure that gas may take in the model: beyond it nothing is known
MIN_VENT_STEAM = (
    1e-3  # share of the reference vent flow that always remains, so that a closed vent stays finite
)

# Conditions that may be NaN: then as usual. The dose moves nothing in the model, but the seasonal terms use it.
OPTIONAL = frozenset({"inlet_oxygen", "makeup_share", "scavenger_dose"})


@dataclass(frozen=True)
class Conditions:
    """What the vessel is asked to do: arrays of one length, already filled where a tag is missing.

    flow [kg/s] water in, inlet_temperature [degC], shell_pressure, steam_pressure, barometer [Pa absolute],
    steam_temperature [degC], vent_valve [1], inlet_oxygen [ppb, NaN where not measured],
    drain_flow [kg/s], drain_temperature [degC], makeup_share of the water and scavenger_dose [kg
    per kg of water], NaN where not recorded.
    """

    flow: Array
    inlet_temperature: Array
    shell_pressure: Array
    steam_pressure: Array
    steam_temperature: Array
    barometer: Array
    vent_valve: Array
    inlet_oxygen: Array
    drain_flow: Array
    drain_temperature: Array
    makeup_share: Array
    scavenger_dose: Array

    # what follows from them alone, worked out once for all healths
    @cached_property
    def saturation(self) -> Array:
        """Boiling temperature in the shell [degC]."""
        return steam.saturation_temperature(self.shell_pressure)

    @cached_property
    def boils_in_the_air(self) -> Array:
        """Boiling temperature at the barometer's pressure [degC]."""
        return steam.saturation_temperature(self.barometer)

    @cached_property
    def to_the_air(self) -> Array:
        """Flux of steam from the shell through a nozzle into the air [kg/(s m2)]."""
        density = steam.density_vapour(self.shell_pressure)
        return nozzle.mass_flux(self.shell_pressure, self.barometer, density)

    @cached_property
    def from_supply(self) -> Array:
        """Flux of the supply's steam through a nozzle into the shell [kg/(s m2)]."""
        density = steam.density_vapour(self.steam_pressure)
        return nozzle.mass_flux(self.steam_pressure, self.shell_pressure, density)

    @cached_property
    def inlet_enthalpy(self) -> Array:
        """Of the water that comes in [J/kg]."""
        return steam.enthalpy_liquid(self.inlet_temperature)

    @cached_property
    def drain_enthalpy(self) -> Array:
        """Of the drains [J/kg]."""
        return steam.enthalpy_liquid(self.drain_temperature)

    @cached_property
    def steam_enthalpy(self) -> Array:
        """Of the steam supplied [J/kg]."""
        return steam.enthalpy_steam(self.steam_pressure, self.steam_temperature)

    @cached_property
    def vapour_enthalpy(self) -> Array:
        """Of the steam in the shell [J/kg]."""
        return steam.enthalpy_vapour(self.shell_pressure)


@dataclass(frozen=True)
class Expected:
    """Expected readings, in the inside units; `subcooling` [K], `vent_flow` [kg/s]."""

    subcooling: Array
    steam_flow: Array
    steam_valve: Array
    outlet_flow: Array
    outlet_oxygen: Array
    inlet_oxygen: Array
    vent_temperature: Array
    vent_flow: Array
    spray_differential: Array
    supply_pressure: Array


def not_flooded(load: Array, margin: float | Array) -> Array:
    """Share of the trays' transfer that is left at a load over the reference [1]. What sound trays lose at loads
    never seen isn't known: all of it is counted from FLOOD_MARGIN, so that nothing is expected of them."""
    return np.asarray(
        (1.0 + (load / FLOOD_MARGIN) ** FLOOD_SHARPNESS) / (1.0 + (load / margin) ** FLOOD_SHARPNESS)
    )


def expected(at: Conditions, health: Health) -> Expected:
    """Expected readings of a vessel in this health, at these conditions: arrays of n. Where the health's fields are
    columns of K draws [K, 1], arrays of [K, n]."""
    load = at.flow / health.flow
    saturation = at.saturation

    # Vent: nozzle flow relative to the reference, both regimes.
    reference = np.asarray(health.pressure)
    flux_reference = nozzle.mass_flux(reference, health.barometer, steam.density_vapour(reference))
    relative_vent = np.maximum(
        health.vent_openness * at.vent_valve * at.to_the_air / flux_reference, MIN_VENT_STEAM
    )
    vent = health.vent_share * health.flow * relative_vent

    # Gas: what is stripped leaves over the vent, so the vapour it leaves with holds that much; the water over the
    # sprays meets less of it, since gas gathers on the vapour's way to the vent.
    usual_gas = health.inlet_gas * oxygen.brought_by_makeup(at.makeup_share, health.makeup_share)
    oxygen_in = np.where(np.isnan(at.inlet_oxygen), usual_gas, at.inlet_oxygen)
    gases = oxygen.gas_per_oxygen(AMBIENT)
    vented = oxygen.gas_pressure(at.shell_pressure, gases * oxygen.moles(at.flow, oxygen_in), vent)
    met = health.gas_mixing * vented
    vent_boils, depressed = (
        oxygen.depressed_saturation(at.shell_pressure, np.minimum(gas, MOST_GAS * at.shell_pressure))
        for gas in (vented, met)
    )

    # Transfer: fouled and worn sprays both spray worse; trays fail beyond their flooding load.
    spray_units = health.spray_transfer * np.exp(-abs(np.log(health.spray_openness)))
    tray_units = health.tray_transfer * not_flooded(load, health.flood_margin)
    sprayed = depressed - (depressed - at.inlet_temperature) * np.exp(-spray_units)
    heated = saturation - (saturation - sprayed) * np.exp(-tray_units)
    stored = heated - health.heat_loss / load

    equilibrium = oxygen.equilibrium_oxygen(met / gases, depressed)
    after_sprays = oxygen.stripped(oxygen_in, equilibrium, health.spray_oxygen * spray_units)
    oxygen_out = oxygen.stripped(after_sprays, 0.0, health.tray_oxygen * tray_units)

    # Heat: steam that heats the water, feeds the vent and makes up the loss.
    heater = Heater(
        inlet=Stream(at.flow, at.inlet_enthalpy),
        drain=Stream(at.drain_flow, at.drain_enthalpy),
        steam=Stream(np.nan, at.steam_enthalpy),
        outlet=Stream(np.nan, steam.enthalpy_liquid(stored)),
        vent=Stream(vent, at.vapour_enthalpy),
        loss=heat.lost(health.heat_loss, health.flow),
    )
    steam_flow = np.maximum(heat.steam_needed(heater), 0.0)

    supply = np.asarray(health.supply)
    # a supply that reads below the shell passes nothing, and still gives a number
    passing_reference = np.maximum(nozzle.mass_flux(supply, reference, steam.density_vapour(supply)), 1e-3)
    area = (steam_flow / (USUAL_STEAM * health.flow)) / (
        health.supply_capacity * np.maximum(at.from_supply / passing_reference, 1e-3)
    )
    valve = np.minimum(health.valve_opening * area**health.valve_curve, 1.0)

    # Vent line: what its thermometer lacks to the boiling temperature in the shell, throttling took or cooling did.
    lacks = -np.expm1(-health.vent_line) * (vent_boils - AMBIENT)
    throttled = health.vent_throttled * np.clip(vent_boils - at.boils_in_the_air, 0.0, lacks)
    begins = vent_boils - throttled - AMBIENT
    line = health.vent_line + np.log(begins / (vent_boils - AMBIENT))
    vent_temperature = AMBIENT + begins * np.exp(-line / np.maximum(relative_vent, 0.02))
    differential = sprays.differential(at.flow, health.spray_curve, health.spray_openness)
    return Expected(
        subcooling=saturation - stored,
        steam_flow=steam_flow,
        steam_valve=valve,
        outlet_flow=at.flow + steam_flow + at.drain_flow - vent,
        outlet_oxygen=oxygen_out,
        inlet_oxygen=usual_gas + 0.0 * load,
        vent_temperature=vent_temperature,
        vent_flow=vent,
        spray_differential=differential,
        supply_pressure=supply + 0.0 * load,
    )
