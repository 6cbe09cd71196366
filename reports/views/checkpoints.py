"""The operator's four checkpoints, and whom to tell. Common practice, no source."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from sevenppb.detect.incidents.incident import Incident
from sevenppb.reports import words

AS_EXPECTED = "as expected"
NOT_JUDGED = "not judged"


@dataclass(frozen=True)
class Checkpoint:
    """One place to look at: what its readings said this week, and what to do where they say nothing."""

    name: str
    found: str


@dataclass(frozen=True)
class _Place:
    name: str
    features: tuple[str, ...]
    unread: str


_PLACES = (
    _Place(
        "Water as hot as its steam",
        ("subcooling",),
        "compare storage temperature with saturation at shell pressure",
    ),
    _Place(
        "Steam supply",
        ("steam_valve", "steam_flow"),
        "note the steam valve's opening and the load beside it",
    ),
    _Place("Vent", ("vent_temperature", "vent_flow"), "look from a safe place whether its plume is as usual"),
    _Place("Oxygen", ("outlet_oxygen",), "have the outlet tested before the scavenger feed"),
)

# Who can act on a cause; where no row says otherwise, the reliability engineer.
_WHOM = {
    "fouled-sprays": "the maintenance planner",
    "worn-sprays": "the maintenance planner",
    "choked-vent": "the shift supervisor and the maintenance planner",
    "open-vent": "the shift supervisor",
    "steam-starvation": "the shift supervisor",
    "tray-damage": "the maintenance planner",
    "flooded-trays": "the shift supervisor",
    "air-in-leakage": "the water chemist and the maintenance planner",
    "heat-loss": "the maintenance planner",
    "sensor-drift": "the instrument technician",
    "sensor-stuck": "the instrument technician",
}
_OTHERWISE = "the reliability engineer"


def checkpoints(verdicts: Mapping[str, str]) -> tuple[Checkpoint, ...]:
    """The four, from each recorded feature's verdict in words (none at all: the vessel was not judged)."""
    found = []
    for place in _PLACES:
        told = {name: verdicts[name] for name in place.features if name in verdicts}
        moved = [
            f"{words.feature(name)} {verdict}"
            for name, verdict in told.items()
            if verdict not in (AS_EXPECTED, NOT_JUDGED)
        ]
        if not told and verdicts:
            text = f"not recorded: {place.unread}"
        elif moved:
            text = ", ".join(moved)
        elif AS_EXPECTED in told.values():
            text = AS_EXPECTED
        else:
            text = f"{NOT_JUDGED} this week: {place.unread}"
        found.append(Checkpoint(place.name, text))
    return tuple(found)


def whom_to_tell(running: Iterable[Incident]) -> tuple[str, ...]:
    """A line each: who, and of what. Oxygen over its limit is told to the water chemist besides."""
    causes: dict[str, list[str]] = {}
    over = False
    for row in running:
        who = _WHOM.get(row.cause, _OTHERWISE)
        causes.setdefault(who, []).append(words.cause(row.cause, row.role))
        over = over or (row.consequence.oxygen_excess_ppb or 0.0) > 0.0
    lines = [f"{who}, of {' and '.join(dict.fromkeys(of))}" for who, of in causes.items()]
    if over:
        lines.append("the water chemist, of outlet oxygen over its limit")
    return tuple(lines)
