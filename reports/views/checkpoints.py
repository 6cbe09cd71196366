"""The operator's four checkpoints, and whom to tell. Common practice, no source."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from sevenppb.detect.incidents.incident import Incident
from sevenppb.reports import words
from sevenppb.reports.likely import is_told
from sevenppb.reports.views.week import AS_EXPECTED, HIGHER, NOT_JUDGED, ReadingRow


@dataclass(frozen=True)
class Checkpoint:
    """One place to look at: its reading this week, last week and normally (None: it is not recorded), and what they
    say or, where they say nothing, what to look at."""

    name: str
    row: ReadingRow | None
    found: str


@dataclass(frozen=True)
class _Place:
    """`features` in the order in which one is chosen to stand for the place; `fallen` is said where its level, above
    zero at a healthy vessel, is not."""

    name: str
    features: tuple[str, ...]
    unread: str
    fallen: str | None = None


_PLACES = (
    _Place(
        "Water hot enough for its pressure",
        ("subcooling",),
        "compare storage temperature with saturation at shell pressure",
    ),
    _Place(
        "Shell above atmosphere",
        ("shell_over_air",),
        "read the shell's pressure gauge",
        "no higher than the air's pressure: air can be drawn in",
    ),
    _Place(
        "Steam above shell",
        ("steam_to_shell", "steam_valve", "steam_flow", "supply_pressure"),
        "read the gauges of steam supply and shell, and note the steam valve's opening",
        "no higher than the shell: no steam can flow in",
    ),
    _Place(
        "Vent open",
        ("vent_temperature", "vent_flow", "vent_loss"),
        "look from a safe place whether its plume is as usual",
    ),
)

FEATURES = tuple(name for place in _PLACES for name in place.features)

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
OXYGEN = "outlet_oxygen"
NOTHING: Mapping[str, ReadingRow] = MappingProxyType({})


def checkpoints(rows: Mapping[str, ReadingRow]) -> tuple[Checkpoint, ...]:
    """The four, from each recorded feature's row (none at all: the vessel was not judged)."""
    return tuple(_checkpoint(place, rows) for place in _PLACES)


def _checkpoint(place: _Place, rows: Mapping[str, ReadingRow]) -> Checkpoint:
    there = [rows[name] for name in place.features if name in rows]
    if not there:
        why = "not recorded" if rows else f"{NOT_JUDGED} this week"
        return Checkpoint(place.name, None, f"{why}: {place.unread}")
    first = there[0]
    moved = [row for row in there if row.verdict not in (AS_EXPECTED, NOT_JUDGED)]
    if place.fallen is not None and first in moved and first.level is not None and first.level <= 0.0:
        found = place.fallen
    elif moved:
        found = ", ".join(f"{row.feature} {row.verdict}" for row in moved)
    elif all(row.verdict == NOT_JUDGED for row in there):
        found = f"{NOT_JUDGED} this week: {place.unread}"
    else:
        found = AS_EXPECTED
    return Checkpoint(place.name, first, found)


def whom_to_tell(running: Iterable[Incident], over: Mapping[str, ReadingRow] = NOTHING) -> tuple[str, ...]:
    """A line each: who, and of what. Oxygen over its limit, by an incident or as read this week, is told to the water
    chemist besides. `over`, the week's readings over their limits: without an incident they are told to the shift
    supervisor and, where they are higher than expected, to whoever can look into it."""
    causes: dict[str, list[str]] = {}
    oxygen = OXYGEN in over
    for row in running:
        known = is_told(row)
        who = _WHOM.get(row.cause, _OTHERWISE) if known else _OTHERWISE
        causes.setdefault(who, []).append(
            words.cause(row.cause, row.role) if known else "a change whose cause is not told"
        )
        oxygen = oxygen or (row.consequence.oxygen_excess_ppb or 0.0) > 0.0
    lines = [f"{who}, of {' and '.join(dict.fromkeys(of))}" for who, of in causes.items()]
    if oxygen:
        besides = "" if causes else " and the shift supervisor"
        lines.append(f"the water chemist{besides}, of outlet oxygen over its limit")
    if not causes:
        others = [row.feature for name, row in over.items() if name != OXYGEN]
        lines += [f"the shift supervisor, of {feature} over its limit" for feature in others]
        lines += [
            f"{_OTHERWISE}, of {row.feature} {HIGHER}" for row in over.values() if row.verdict == HIGHER
        ]
    return tuple(lines)
