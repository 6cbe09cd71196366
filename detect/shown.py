"""Readings → what is shown beside the watched features: closures, vent loss, oxygen against equilibrium.

Nothing here is tested: these say how far the instruments agree and why, each with its standard uncertainty
(`_sd`) by first-order propagation from the roles' accuracies. Errors of instruments last, so an uncertainty
doesn't shrink over a day's hours.
"""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from sevenppb.detect import streams, vent
from sevenppb.detect.fleet import Vessel
from sevenppb.detect.limits import AMBIENT, WEATHER
from sevenppb.detect.physics import heat, oxygen, steam
from sevenppb.detect.roles import ROLES
from sevenppb.detect.streams import accuracy, reading

Array = NDArray[np.float64]

CLEAR = 2.0  # standard uncertainties that a subcooling must have before gas is read from it


@dataclass(frozen=True)
class Shown:
    """A row of the table of shown features; `unit` as in the table of roles, or in words. `positive`: one that can't be
    below zero, where a level that is tells only that the meters don't agree."""

    label: str
    unit: str
    positive: bool = False


SHOWN: dict[str, Shown] = {
    "subcooling_sd": Shown("subcooling's standard uncertainty", "K"),
    "storage_temperature": Shown(ROLES["storage_temperature"].label, "degC"),
    "shell_over_air": Shown("shell pressure over the air's", "Pa"),
    "steam_to_shell": Shown("steam supply over shell pressure", "Pa"),
    "heat_closure": Shown("steam needed over steam measured, less one", "1"),
    "heat_closure_sd": Shown("its standard uncertainty", "1"),
    "mass_closure": Shown("flows in less flows out", "kg/s"),
    "mass_closure_sd": Shown("its standard uncertainty", "kg/s"),
    "spray_openness": Shown("spray flow area over its healthy value", "1"),
    "oxygen_over_equilibrium": Shown("outlet oxygen over equilibrium at its subcooling", "1"),
    "oxygen_over_equilibrium_sd": Shown("its standard uncertainty", "1"),
    "stripping_units": Shown("oxygen stripped from inlet to outlet", "transfer units"),
    "vent_by_orifice": Shown("vent loss by the bore", "kg/s"),
    "vent_by_orifice_sd": Shown("its standard uncertainty", "kg/s"),
    "vent_by_balance": Shown("vent loss by the heat balance", "kg/s"),
    "vent_by_balance_sd": Shown("its standard uncertainty", "kg/s"),
    "vent_warmth": Shown("vent line's warmth, 0 the room and 1 the steam", "1"),
    "vent_loss": Shown("vent loss by all answers weighed", "kg/s", positive=True),
    "vent_loss_sd": Shown("its standard uncertainty", "kg/s"),
}


def told(name: str, level: float) -> float:
    """A feature's level; NaN where none can be so low."""
    row = SHOWN.get(name)
    return np.nan if row is not None and row.positive and level < 0.0 else level


def shown(hourly: pd.DataFrame, barometer: pd.Series, vessel: Vessel) -> pd.DataFrame:
    """Shown features per hour, those that the recorded roles allow, in SHOWN's units; `spray_openness` needs
    the healthy curve and is added with it. NaN in, NaN out.

    hourly      a column a role, inside units; every pressure is absolute [Pa]
    barometer   [Pa], aligned with hourly
    """
    columns = _subcooling(hourly) | _oxygen(hourly) | _balances(hourly, barometer, vessel)
    there = {name: columns[name] for name in SHOWN if name in columns and not np.isnan(columns[name]).all()}
    return pd.DataFrame(there, index=hourly.index)


def _pressure_sd(hourly: pd.DataFrame) -> float:
    """Standard uncertainty of the absolute shell pressure [Pa]: most transmitters are gauge, and then
    the weather counts where no barometer is recorded."""
    return float(
        np.hypot(ROLES["shell_pressure"].accuracy, 0.0 if "barometric_pressure" in hourly else WEATHER)
    )


def _subcooling(hourly: pd.DataFrame) -> dict[str, Array]:
    pressure = reading(hourly, "shell_pressure")
    higher = steam.saturation_temperature(pressure + _pressure_sd(hourly))
    by_pressure = higher - steam.saturation_temperature(pressure)
    return {
        "storage_temperature": reading(hourly, "storage_temperature"),
        "subcooling_sd": np.hypot(by_pressure, ROLES["storage_temperature"].accuracy),
        "steam_to_shell": reading(hourly, "steam_pressure") - pressure,
    }


def _oxygen(hourly: pd.DataFrame) -> dict[str, Array]:
    """Were the whole subcooling gas over the water, that gas would hold so much oxygen in it: a ceiling, far
    above what a well-scrubbed vessel of the same subcooling leaves. Not told where the subcooling is within
    the instruments' doubt."""
    pressure, celsius = reading(hourly, "shell_pressure"), reading(hourly, "storage_temperature")
    outlet = reading(hourly, "outlet_oxygen")
    own = steam.saturation_pressure(celsius)
    warmer = steam.saturation_pressure(celsius + ROLES["storage_temperature"].accuracy)
    gas, gas_sd = pressure - own, np.hypot(_pressure_sd(hourly), warmer - own)
    gas = np.where(gas > CLEAR * gas_sd, gas, np.nan)
    ceiling = oxygen.equilibrium_oxygen(gas / oxygen.gas_per_oxygen(AMBIENT), celsius)
    share = outlet / ceiling
    return {
        "oxygen_over_equilibrium": share,
        "oxygen_over_equilibrium_sd": share * np.hypot(ROLES["outlet_oxygen"].accuracy, gas_sd / gas),
        # over the trays water meets fresh steam, which holds no oxygen
        "stripping_units": oxygen.transfer_units(reading(hourly, "inlet_oxygen"), outlet, 0.0),
    }


def _balances(hourly: pd.DataFrame, barometer: pd.Series, vessel: Vessel) -> dict[str, Array]:
    air = barometer.to_numpy(dtype=float)
    known = streams.vent_known(hourly, air, vessel.vent_bore)
    heater = streams.heater_of(hourly, streams.vent_assumed(hourly, known))
    measured = reading(hourly, "steam_flow")
    running = replace(heater, steam=replace(heater.steam, flow=np.where(measured > 0, measured, np.nan)))
    ratio = heat.steam_needed(running) / running.steam.flow
    ratio_sd = np.hypot(
        heat.closing_sd(running, "steam") / running.steam.flow,
        ratio * accuracy("steam_flow", measured) / running.steam.flow,
    )
    missing, missing_sd = heat.mass_closure(heater)
    by_balance = heat.vent_by_balance(running), heat.closing_sd(running, "vent")
    loss, loss_sd = vent.combined([*known.values(), by_balance])
    columns = {
        "shell_over_air": reading(hourly, "shell_pressure") - air,
        "heat_closure": ratio - 1.0,
        "heat_closure_sd": ratio_sd,
        "mass_closure": missing,
        "mass_closure_sd": np.where(np.isnan(missing), np.nan, missing_sd),
        "vent_by_balance": by_balance[0],
        "vent_by_balance_sd": by_balance[1],
        "vent_warmth": vent.warmth(hourly),
        "vent_loss": loss,
        "vent_loss_sd": loss_sd,
    }
    if "bore" in known:
        columns["vent_by_orifice"], columns["vent_by_orifice_sd"] = known["bore"]
    return columns
