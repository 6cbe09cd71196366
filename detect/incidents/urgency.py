"""Ranking: urgency = probability that it is real × severity of its consequence, each between 0 and 1.

severity = 1 − (1 − oxygen)(1 − steam)(1 − valve)(1 − blindness), where
    oxygen     = (outlet oxygen now or in 90 days − half the limit) / (1.5 × the limit), but no more than what the
                 change adds to it / half the limit, held to 0…1; 0 for a sensor, since a wrong reading brings no oxygen
    steam      = steam lost / 1 % of the usual water flow, held to 0…1
    valve      = (steam valve opening at high load − 90 %) / 10 %, but no more than what the change opens it / 10 %,
                 held to 0…1; 0 for a sensor, since a wrong reading opens no valve
    blindness  = 0.6 for a sensor that the watch can't do without, 0.35 for another, 0 for a process cause
and never below 0.05, since whatever is found deserves a look.
"""

NEARLY_OPEN, LEFT = 0.9, 0.1  # of a valve's travel: where little is left for the next load, and how much
BLINDING = frozenset({"shell_pressure", "storage_temperature", "outlet_oxygen"})


def severity(
    oxygen_ratio: float | None,
    ratio_without: float | None,
    steam_share: float,
    role: str | None,
    valve: tuple[float, float] | None,
) -> float:
    """Severity of an incident.

    oxygen_ratio   the larger of outlet oxygen now and in 90 days, over its limit; None where it can't be told
    ratio_without  the same now, as it would be without the change
    steam_share    steam lost over the usual water flow
    role           of the sensor at fault, None for a process cause
    valve          steam valve opening at high load and as it would be without the change; None where it isn't read

    >>> round(severity(oxygen_ratio=2.0, ratio_without=0.4, steam_share=0.0, role=None, valve=None), 3)  # 14 ppb for 7
    1.0
    >>> round(severity(oxygen_ratio=1.25, ratio_without=0.4, steam_share=0.002, role=None, valve=None), 3)
    0.6
    >>> round(severity(oxygen_ratio=2.35, ratio_without=2.3, steam_share=0.0, role=None, valve=None), 3)  # high anyway
    0.1
    >>> round(severity(oxygen_ratio=0.4, ratio_without=0.4, steam_share=0.0, role=None, valve=(0.96, 0.75)), 3)
    0.6
    """
    ratio = oxygen_ratio or 0.0
    oxygen = min((ratio - 0.5) / 1.5, (ratio - (ratio_without or 0.0)) / 0.5)
    oxygen = 0.0 if role is not None else min(max(oxygen, 0.0), 1.0)
    steam = min(max(steam_share / 0.01, 0.0), 1.0)
    open_wide = 0.0 if role is not None or valve is None else nearly_open(*valve)
    blind = 0.0 if role is None else 0.6 if role in BLINDING else 0.35
    return max(1.0 - (1.0 - oxygen) * (1.0 - steam) * (1.0 - open_wide) * (1.0 - blind), 0.05)


def nearly_open(opening: float, without: float) -> float:
    """How far a change has taken the steam valve into the last of its travel at high load, 0 to 1, from its opening
    there as read and as it would be `without` the change [fractions]."""
    return min(max(min((opening - NEARLY_OPEN) / LEFT, (opening - without) / LEFT), 0.0), 1.0)
