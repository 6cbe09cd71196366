"""Limits and typical values, each with its source. A fleet file's [vessel.limits] overrides them."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Limit:
    """`value` in the inside unit of `what` (ppb, K); `source` is printed beside it."""

    what: str
    value: float
    unit: str
    source: str


LIMITS: dict[str, Limit] = {
    "outlet_oxygen": Limit(
        "outlet_oxygen",
        7.0,
        "ppb",
        "UFC 3-240-13FN, Industrial Water Treatment Operation and Maintenance, US DoD, 2005, Table 3-8: 0.007 ppm",
    ),
    "subcooling": Limit(
        "subcooling",
        2.0,
        "delta_degC",
        "common practice, no source; UFC 3-240-13FN, 2005, para. 3-2.6.1.1 asks for 1 degC, altitude-corrected",
    ),
}

WEATHER = 800.0  # Pa by which the air's pressure wanders about its usual value; common practice, no source
AMBIENT = 20.0  # degC around shell and vent line where nothing is measured; common practice, no source
VENT_SHARE = 1.0e-3  # of the water flow where no vent is known; trade tutorials: 0.5e-3 to 2e-3 of capacity
HEAT_LOSS, HEAT_LOSS_DOUBT = 0.2, 0.3  # K by which it cools the usual water flow; common practice, no source
WETTED_SHARE = 0.5  # of a heat loss cools stored water, the rest the steam; common practice, no source
