"""Mass and heat of a direct-contact heater: what steam it needs, what its vent takes, how well its meters
agree.

    inlet + steam (+ drains, make-up)     =  outlet + vent
    each flow times its enthalpy in       =  each flow times its enthalpy out + heat loss

One of the two large water flows may be unknown: counting enthalpies from its own takes it out of the heat
balance. Flows kg/s, enthalpies J/kg, heat W; uncertainties are standard deviations in the same unit. NaN
gives NaN. Source: the first law; propagation to first order as in JCGM 100:2008 (Guide to the Expression of
Uncertainty in Measurement), section 5.1.2, errors of different instruments taken as independent."""

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from sevenppb.detect.limits import WETTED_SHARE

Array = npt.NDArray[np.float64]
Value = float | Array
Name = Literal["inlet", "drain", "makeup", "steam", "outlet", "vent"]

CP_WATER = 4230.0  # J/(kg K) of water near 110 degC; IAPWS-IF97


def lost(cooled: Value, flow: Value) -> Value:
    """Heat loss [W] of a vessel whose loss cools the water, `flow` [kg/s], by `cooled` [K]: only the wetted part of
    the shell cools water, the rest condenses steam."""
    return cooled * flow * CP_WATER / WETTED_SHARE


@dataclass(frozen=True)
class Stream:
    """A flow [kg/s] of an enthalpy [J/kg], and the standard uncertainty of each. Scalars or arrays."""

    flow: Value
    enthalpy: Value
    flow_sd: Value = 0.0
    enthalpy_sd: Value = 0.0


@dataclass(frozen=True)
class Heater:
    """What goes in and out. `follows` is the water flow that the others settle by the mass balance: its own
    flow is used by `mass_closure` alone. Heat `loss` with its uncertainty [W]."""

    inlet: Stream
    steam: Stream
    outlet: Stream
    vent: Stream
    drain: Stream | None = None
    makeup: Stream | None = None
    loss: Value = 0.0
    loss_sd: Value = 0.0
    follows: Literal["inlet", "outlet"] = "outlet"

    def streams(self) -> dict[Name, tuple[float, Stream]]:
        """Each stream with 1 where it goes in and -1 where it goes out."""
        all_: dict[Name, tuple[float, Stream | None]] = {
            "inlet": (1.0, self.inlet),
            "drain": (1.0, self.drain),
            "makeup": (1.0, self.makeup),
            "steam": (1.0, self.steam),
            "outlet": (-1.0, self.outlet),
            "vent": (-1.0, self.vent),
        }
        return {name: (sign, stream) for name, (sign, stream) in all_.items() if stream is not None}


def steam_needed(heater: Heater) -> Array:
    """Steam [kg/s] that closes the heat balance; the heater's own steam flow isn't used."""
    return _closing(heater, "steam")


def vent_by_balance(heater: Heater) -> Array:
    """Vent flow [kg/s] that closes the heat balance; the heater's own vent flow isn't used. A difference of
    two large flows: to be weighted by its variance, never trusted alone."""
    return _closing(heater, "vent")


def closing_sd(heater: Heater, solved: Literal["steam", "vent"]) -> Array:
    """Standard uncertainty [kg/s] of `steam_needed` or `vent_by_balance`."""
    follows = heater.streams()[heater.follows][1]
    flow = _closing(heater, solved)
    through, variance = np.asarray(0.0), np.asarray(heater.loss_sd) ** 2
    for name, (sign, stream) in heater.streams().items():
        if name != heater.follows:
            known = replace(stream, flow=flow, flow_sd=0.0) if name == solved else stream
            by_flow = (known.enthalpy - follows.enthalpy) * known.flow_sd
            by_enthalpy = known.flow * known.enthalpy_sd
            variance = variance + by_flow**2 + by_enthalpy**2
            through = through + sign * known.flow
    variance = variance + (through * follows.enthalpy_sd) ** 2
    latent = heater.streams()[solved][1].enthalpy - follows.enthalpy
    return np.asarray(np.sqrt(variance) / abs(latent))


def mass_closure(heater: Heater) -> tuple[Array, Array]:
    """Flows in less flows out [kg/s] and its standard uncertainty: zero, within it, where meters agree."""
    total = variance = np.asarray(0.0)
    for sign, stream in heater.streams().values():
        total = total + sign * stream.flow
        variance = variance + np.square(stream.flow_sd)
    return total, np.sqrt(variance)


def _closing(heater: Heater, solved: Literal["steam", "vent"]) -> Array:
    streams = heater.streams()
    over = streams[heater.follows][1].enthalpy
    surplus = -np.asarray(heater.loss)
    for name, (sign, stream) in streams.items():
        if name not in (heater.follows, solved):
            surplus = surplus + sign * stream.flow * (stream.enthalpy - over)
    sign, stream = streams[solved]
    return np.asarray(-sign * surplus / (stream.enthalpy - over))
