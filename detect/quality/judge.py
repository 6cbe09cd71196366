"""What only a look at all tags of a vessel can judge: standstills and changes of unit. Cut, counted and
told."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from sevenppb.detect.quality import stuck, unit_jump
from sevenppb.detect.quality.hourly import HOUR_US, Hours
from sevenppb.detect.quality.readings import Stuck
from sevenppb.detect.quality.screen import Screened
from sevenppb.detect.quality.unit_jump import Conversion

_STANDING = 0.05  # of the tag's usual flow: below it the vessel stands
_PAUSE = pd.Timedelta(hours=24)
_NEAR_STOP = 0.01  # of a valve's travel, or of a tag's usual value


@dataclass(frozen=True)
class Judged:
    """The tags' hours without what was cut; `cut` counts readings by role and reason. Values in `stuck` are
    in the tag's own unit."""

    hours: dict[str, Hours]
    cut: dict[str, dict[str, int]]
    stuck: tuple[Stuck, ...]
    notes: tuple[str, ...]


def judge(
    tags: Mapping[str, Screened], quantities: Mapping[str, str], full_scale: Mapping[str, float],
    conversions: Mapping[str, list[Conversion]],
) -> Judged:  # fmt: skip
    """`tags`, by role, on one row of hours; `quantities` as in the table of roles; `full_scale` is a valve's
    100 % in its tag's unit; `conversions` are the mistakes a tag's unit can make."""
    hours = {role: tag.hours for role, tag in tags.items()}
    cut: dict[str, dict[str, int]] = {role: dict(tag.cut) for role, tag in tags.items()}
    found: list[Stuck] = []
    notes: list[str] = []
    first = next((tag.first_hour for tag in tags.values()), 0)
    for role, tag in tags.items():
        others = {name: other.hours for name, other in tags.items() if name != role}
        for run in tag.runs:
            if stuck.at_stop(run, _stops(quantities[role], full_scale.get(role), tag.hours)):
                continue
            if _stands(run, others, quantities):
                continue
            moving = stuck.neighbours_move(run, list(others.values()))
            if moving is None:
                continue
            hours[role] = stuck.cut(hours[role], run)
            cut[role]["frozen"] = cut[role].get("frozen", 0) + run.readings
            span = f"{_stamp(run.start):%Y-%m-%d %H:%M} to {_stamp(run.end):%Y-%m-%d %H:%M} UTC"
            if moving:
                found.append(Stuck(role, _stamp(run.start), _stamp(run.end), run.value))
                notes.append(f"{role} stood exactly still from {span} while other tags moved: cut")
            else:
                notes.append(
                    f"{role} stood exactly still from {span} like most tags (a collector outage?): cut"
                )
    for role, known in conversions.items():
        others = {name: other for name, other in hours.items() if name != role}
        tag = tags[role]
        jump = unit_jump.find(tag.before, list(others.values()), known) if others else None
        if jump:
            out = min(
                cut[role].get("out of range", 0), int((tag.before.count - tag.readings)[jump.wrong].sum())
            )
            left = int(np.minimum(tag.readings, hours[role].count)[jump.wrong].sum())
            cut[role]["out of range"] = cut[role].get("out of range", 0) - out
            cut[role]["unit jump"] = left + out
            hours[role] = hours[role].without(jump.wrong)
            at = ", ".join(f"{_stamp((first + k) * HOUR_US):%Y-%m-%d %H:%M}" for k in jump.at[:3])
            notes.append(
                f"{role} changes between {jump.what} at {at} UTC: the {int(jump.wrong.sum())} hours in the "
                "rarer unit "
                "were cut; export these in the usual unit to use them"
            )
    return Judged(hours, cut, _joined(found), tuple(notes))


def _joined(found: list[Stuck]) -> tuple[Stuck, ...]:
    """Standstills of one tag at one value, parted by a few readings only, as one."""
    joined: list[Stuck] = []
    for this in found:
        last = joined[-1] if joined else None
        if last and (last.role, last.value) == (this.role, this.value) and this.start - last.end < _PAUSE:
            joined[-1] = Stuck(last.role, last.start, this.end, last.value)
        else:
            joined.append(this)
    return tuple(joined)


def _stamp(us: int) -> pd.Timestamp:
    return pd.Timestamp(us, unit="us", tz="UTC")


def _stops(quantity: str, full: float | None, hours: Hours) -> list[tuple[float, float]]:
    """Ranges of the tag's unit in which a value may stand still by nature: valves at their ends, nothing
    flowing."""
    if quantity == "fraction" and full is not None:
        return [(-0.1 * full, _NEAR_STOP * full), ((1 - _NEAR_STOP) * full, 1.1 * full)]
    if quantity in ("flow", "difference", "oxygen"):
        usual = float(np.nanmax(hours.median)) if hours.count.any() else 0.0
        return [(-np.inf, _NEAR_STOP * usual)]
    return []


def _stands(run: stuck.Run, others: Mapping[str, Hours], quantities: Mapping[str, str]) -> bool:
    """Whether the vessel's water flows say that it stands during the run."""
    window = slice(run.first, run.last + 1)
    for role in ("outlet_flow", "inlet_flow"):
        if role in others and others[role].count[window].any():
            usual = float(np.nanquantile(others[role].median, 0.9))
            return float(np.nanmedian(others[role].median[window])) < _STANDING * usual
    return False
