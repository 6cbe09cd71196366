"""Mass and heat of a direct-contact heater: what steam it needs, what its vent takes, how well its meters
agree.

    water + steam (+ drains, make-up) in  =  outlet water + vent out
    each flow times its enthalpy in       =  each flow times its enthalpy out + heat loss

Flows kg/s, enthalpies J/kg, heat W; uncertainties are standard deviations in the same unit. NaN gives NaN.
Source: the first law; propagation to first order as in JCGM 100:2008 (Guide to the Expression of Uncertainty
in Measurement), section 5.1.2, errors of different instruments taken as independent."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Stream:
    """A flow [kg/s] of an enthalpy [J/kg], and the standard uncertainty of each. Scalars or arrays."""

    flow: npt.ArrayLike
    enthalpy: npt.ArrayLike
    flow_sd: npt.ArrayLike = 0.0
    enthalpy_sd: npt.ArrayLike = 0.0


@dataclass(frozen=True)
class Closure:
    """In minus out: mass [kg/s] and heat [W], each with its standard uncertainty. Zero, within it, where the
    meters agree."""

    mass: Array
    mass_sd: Array
    heat: Array
    heat_sd: Array


def steam_needed(
    waters: Sequence[Stream],
    vent: Stream,
    outlet_enthalpy: npt.ArrayLike,
    steam_enthalpy: npt.ArrayLike,
    loss_w: npt.ArrayLike = 0.0,
) -> Array:
    """Steam [kg/s] that heats the waters (inlet, make-up, drains) to the outlet's enthalpy, feeds the vent
    and makes up the heat loss. The outlet flow follows from the mass balance."""
    out = _array(outlet_enthalpy)
    heat = _array(loss_w) + _array(vent.flow) * (_array(vent.enthalpy) - out)
    for water in waters:
        heat = heat + _array(water.flow) * (out - _array(water.enthalpy))
    return np.asarray(heat / (_array(steam_enthalpy) - out))


def steam_for_outlet(
    outlet: Stream,
    inlet_enthalpy: npt.ArrayLike,
    others: Sequence[Stream],
    vent: Stream,
    steam_enthalpy: npt.ArrayLike,
    loss_w: npt.ArrayLike = 0.0,
) -> Array:
    """Steam [kg/s] for a given outlet flow, where the inlet follows (a level controller). `others` are
    make-up and drains; the inlet flow is outlet + vent - steam - others."""
    cold = _array(inlet_enthalpy)
    heat = _array(loss_w)
    for hot in (outlet, vent):
        heat = heat + _array(hot.flow) * (_array(hot.enthalpy) - cold)
    for other in others:
        heat = heat - _array(other.flow) * (_array(other.enthalpy) - cold)
    return np.asarray(heat / (_array(steam_enthalpy) - cold))


def vent_by_balance(
    waters: Sequence[Stream],
    steam: Stream,
    outlet: Stream,
    vent_enthalpy: npt.ArrayLike,
    loss_w: npt.ArrayLike = 0.0,
    loss_sd: npt.ArrayLike = 0.0,
) -> tuple[Array, Array]:
    """Vent flow [kg/s] that heat leaves over, and its standard uncertainty. The outlet flow isn't used, only
    its enthalpy. A difference of two large flows: to be weighted by its variance, never trusted alone."""
    out = _array(outlet.enthalpy)
    latent = _array(vent_enthalpy) - out
    inflows = (steam, *waters)
    surplus = -_array(loss_w)
    variance = _array(loss_sd) ** 2
    for stream in inflows:
        surplus = surplus + _array(stream.flow) * (_array(stream.enthalpy) - out)
        variance = variance + _stream_variance(stream, out)
    flow = surplus / latent
    through_outlet = flow - sum((_array(stream.flow) for stream in inflows), _array(0.0))
    variance = variance + (through_outlet * _array(outlet.enthalpy_sd)) ** 2
    return np.asarray(flow), np.asarray(np.sqrt(variance) / np.abs(latent))


def closure(
    inflows: Sequence[Stream],
    outflows: Sequence[Stream],
    loss_w: npt.ArrayLike = 0.0,
    loss_sd: npt.ArrayLike = 0.0,
) -> Closure:
    """How far mass and heat are from balancing over all measured streams."""
    mass = mass_variance = _array(0.0)
    heat, heat_variance = -_array(loss_w), _array(loss_sd) ** 2
    for sign, streams in ((1.0, inflows), (-1.0, outflows)):
        for stream in streams:
            mass = mass + sign * _array(stream.flow)
            heat = heat + sign * _array(stream.flow) * _array(stream.enthalpy)
            mass_variance = mass_variance + _array(stream.flow_sd) ** 2
            heat_variance = heat_variance + _stream_variance(stream, _array(0.0))
    return Closure(mass, np.sqrt(mass_variance), heat, np.sqrt(heat_variance))


def _stream_variance(stream: Stream, datum: Array) -> Array:
    by_flow = (_array(stream.enthalpy) - datum) * _array(stream.flow_sd)
    by_enthalpy = _array(stream.flow) * _array(stream.enthalpy_sd)
    return np.asarray(by_flow**2 + by_enthalpy**2)


def _array(values: npt.ArrayLike) -> Array:
    return np.asarray(values, dtype=np.float64)
