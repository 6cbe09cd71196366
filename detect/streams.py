"""Readings → the streams of the heater, each with the uncertainty of its instruments.

What is not recorded is taken as usual, with a wide uncertainty, or is NaN where nothing usual is known."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from sevenppb.detect import vent as vents
from sevenppb.detect.limits import HEAT_LOSS, HEAT_LOSS_DOUBT, VENT_SHARE
from sevenppb.detect.physics import steam
from sevenppb.detect.physics.heat import CP_WATER, Heater, Stream, lost
from sevenppb.detect.quality.steady import FIRST
from sevenppb.detect.roles import ROLES

Array = NDArray[np.float64]

CP_STEAM = 2100.0  # J/(kg K) of slightly superheated steam near 2 bar; IAPWS-IF97
SUPERHEAT_DOUBT = 6.0e4  # J/kg, of steam without a thermometer: some 30 K; common practice, no source
DRAIN_DOUBT = 20.0  # K, of drains without a thermometer, taken as boiling; common practice, no source


def reading(readings: pd.DataFrame, role: str) -> Array:
    """A role's readings [n], NaN where it isn't recorded."""
    return readings[role].to_numpy(dtype=float) if role in readings else np.full(len(readings), np.nan)


def accuracy(role: str, values: Array) -> Array:
    """Standard uncertainty of readings [role's unit], of one instrument that slow change hides in."""
    row = ROLES[role]
    return row.accuracy * abs(values) if row.relative else np.full_like(values, row.accuracy)


def heater_of(readings: pd.DataFrame, vent: tuple[Array, Array]) -> Heater:
    """The heater that the readings (a row a time, a column a role) describe. `vent` is its vent flow and its
    standard uncertainty [kg/s]. The inlet follows where only the outlet flow is recorded."""
    pressure = reading(readings, "shell_pressure")
    boiling = steam.saturation_temperature(pressure)
    inlet = _stream(readings, "inlet_flow", _liquid(readings, "inlet_temperature"))
    outlet = _stream(readings, "outlet_flow", _liquid(readings, "storage_temperature"))
    drain = makeup = None
    if "drain_flow" in readings:
        assumed = steam.enthalpy_liquid(boiling), CP_WATER * DRAIN_DOUBT + 0.0 * boiling
        is_measured = "drain_temperature" in readings
        drain = _stream(
            readings, "drain_flow", _liquid(readings, "drain_temperature") if is_measured else assumed
        )
    if makeup_is_separate(readings):
        makeup = _stream(readings, "makeup_flow", _liquid(readings, "makeup_temperature"))
    water = water_of(readings)
    return Heater(
        inlet=inlet,
        steam=_stream(readings, "steam_flow", _supply(readings, pressure)),
        outlet=outlet,
        vent=Stream(vent[0], steam.enthalpy_vapour(pressure), flow_sd=vent[1]),
        drain=drain,
        makeup=makeup,
        loss=lost(HEAT_LOSS, water),
        loss_sd=lost(HEAT_LOSS_DOUBT, water),
        follows="outlet" if "inlet_flow" in readings else "inlet",
    )


def vent_known(
    readings: pd.DataFrame, barometer: Array, bore: float | None
) -> dict[str, tuple[Array, Array]]:
    """What "meter" and "bore" say of the vent, where there are any: (flow, standard uncertainty) [kg/s]."""
    answers = {}
    if "vent_flow" in readings:
        flow = reading(readings, "vent_flow")
        answers["meter"] = flow, accuracy("vent_flow", flow)
    if bore is not None:
        answers["bore"] = vents.by_orifice(readings, barometer, bore)
    return answers


def vent_assumed(readings: pd.DataFrame, known: dict[str, tuple[Array, Array]]) -> tuple[Array, Array]:
    """The vent for a balance that isn't asked about it: as known, or else a usual share of the water."""
    if known:
        return vents.combined(known.values())
    water = water_of(readings)
    return VENT_SHARE * water, VENT_SHARE * water


def water_of(readings: pd.DataFrame) -> Array:
    """The water that is heated [kg/s], as far as it is recorded; NaN where no water flow is."""
    if "inlet_flow" not in readings:
        return reading(readings, "outlet_flow")
    beside = reading(readings, "makeup_flow") if makeup_is_separate(readings) else 0.0
    return reading(readings, "inlet_flow") + beside


def makeup_share(readings: pd.DataFrame) -> Array:
    """Make-up in the water that is heated [1]; NaN where it isn't recorded."""
    if "makeup_flow" not in readings:
        return np.full(len(readings), np.nan)
    share = reading(readings, "makeup_flow") / np.maximum(water_of(readings), 1e-3)
    return np.asarray(np.clip(share, 0.0, 1.0))


def makeup_is_separate(readings: pd.DataFrame) -> bool:
    """Whether make-up comes in beside the inlet water instead of in it, told by which closes the mass balance
    of the first readings; in it, where that can't be told."""
    makeup, inlet, supply, outlet = (
        reading(readings, role) for role in ("makeup_flow", "inlet_flow", "steam_flow", "outlet_flow")
    )
    early = np.flatnonzero(~np.isnan(makeup + inlet + supply + outlet))[:FIRST]
    if not len(early):
        return False
    without = (inlet + supply + np.nan_to_num(reading(readings, "drain_flow")) - outlet)[early]
    return bool(abs(np.median(without + makeup[early])) < abs(np.median(without)))


def _stream(readings: pd.DataFrame, role: str, enthalpy: tuple[Array, Array]) -> Stream:
    flow = reading(readings, role)
    return Stream(flow, enthalpy[0], accuracy(role, flow), enthalpy[1])


def _liquid(readings: pd.DataFrame, role: str) -> tuple[Array, Array]:
    """Enthalpy of water by its thermometer, and its standard uncertainty [J/kg]."""
    celsius = reading(readings, role)
    return steam.enthalpy_liquid(celsius), CP_WATER * accuracy(role, celsius)


def _supply(readings: pd.DataFrame, shell: Array) -> tuple[Array, Array]:
    """Enthalpy of the steam: as hot as measured, else dry and saturated; throttling keeps it."""
    pressure = reading(readings, "steam_pressure") if "steam_pressure" in readings else shell
    if "steam_temperature" not in readings:
        return steam.enthalpy_vapour(pressure), np.full(len(readings), SUPERHEAT_DOUBT)
    celsius = reading(readings, "steam_temperature")
    return steam.enthalpy_steam(pressure, celsius), CP_STEAM * accuracy("steam_temperature", celsius)
