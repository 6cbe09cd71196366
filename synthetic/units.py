"""The units that exports use, by system: from the units of the simulation to those of a site."""

from dataclasses import dataclass

# role → quantity; flows so small that a site shows them in other units are a quantity of their own
QUANTITY = {
    "shell_pressure": "pressure",
    "steam_pressure": "pressure",
    "barometric_pressure": "barometer",
    "spray_differential": "difference",
    "steam_valve": "fraction",
    "vent_valve": "fraction",
    "level": "fraction",
    "outlet_oxygen": "oxygen",
    "inlet_oxygen": "oxygen",
    "vent_flow": "small flow",
    "scavenger_flow": "small flow",
}

_PSI = 6894.757293168
_POUND = 0.45359237

# quantity → (label, factor, offset) from Pa, °C, kg/s, fractions of one, ug/kg
_METRIC = {
    "temperature": ("degC", 1.0, 0.0),
    "flow": ("t/h", 3.6, 0.0),
    "small flow": ("kg/h", 3600.0, 0.0),
    "fraction": ("percent", 100.0, 0.0),
    "oxygen": ("ppb", 1.0, 0.0),
}
SYSTEMS: dict[str, dict[str, tuple[str, float, float]]] = {
    "kpa": _METRIC
    | {"pressure": ("kPa", 1e-3, 0.0), "difference": ("kPa", 1e-3, 0.0), "barometer": ("kPa", 1e-3, 0.0)},
    "bar": _METRIC
    | {"pressure": ("bar", 1e-5, 0.0), "difference": ("mbar", 1e-2, 0.0), "barometer": ("hPa", 1e-2, 0.0)},
    "si": _METRIC
    | {
        "pressure": ("kPa", 1e-3, 0.0),
        "difference": ("kPa", 1e-3, 0.0),
        "barometer": ("kPa", 1e-3, 0.0),
        "flow": ("kg/s", 1.0, 0.0),
        "small flow": ("kg/s", 1.0, 0.0),
    },
    "us": {
        "pressure": ("psi", 1 / _PSI, 0.0),
        "difference": ("psi", 1 / _PSI, 0.0),
        "barometer": ("psi", 1 / _PSI, 0.0),
        "temperature": ("degF", 1.8, 32.0),
        "flow": ("lb/h", 3600.0 / _POUND, 0.0),
        "small flow": ("lb/h", 3600.0 / _POUND, 0.0),
        "fraction": ("percent", 100.0, 0.0),
        "oxygen": ("ppb", 1.0, 0.0),
    },
}


@dataclass(frozen=True)
class Unit:
    """value shown = value * factor + offset, for a gauge pressure after the barometer is taken off."""

    label: str
    factor: float
    offset: float
    gauge: bool


def unit_of(role: str, system: str, gauge_transmitters: bool) -> Unit:
    """The unit of a role in a system; a pressure says whether it is gauge or absolute."""
    quantity = QUANTITY.get(role, "flow" if role.endswith("flow") else "temperature")
    label, factor, offset = SYSTEMS[system][quantity]
    if quantity == "pressure":
        label = f"{label} {'gauge' if gauge_transmitters else 'abs'}"
    return Unit(label, factor, offset, quantity == "pressure" and gauge_transmitters)
