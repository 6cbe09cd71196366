"""What only a look at all tags of a vessel can judge: standstills and changes of unit. Cut, counted and
told."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from sevenppb.detect.quality import flicker, running, stuck, unit_jump
from sevenppb.detect.quality.hourly import HOUR_US, Floats, Hours
from sevenppb.detect.quality.readings import Stuck
from sevenppb.detect.quality.screen import Screened
from sevenppb.detect.quality.unit_jump import Conversion

_PAUSE = pd.Timedelta(hours=24)
_TOLD = 3  # standstills of a role that its note tells one by one
_How = tuple[str, str]  # how a tag stood still, and how the others did meanwhile
_STILL = "stood exactly still", "while other tags moved"
_IN_TURN = "showed only two neighbouring values", "while other tags moved"
_ALIKE = "stood exactly still", "like most tags (a collector outage?)"
_NEAR_STOP = 0.01  # of a valve's travel, or of a tag's usual value
# meters that show something whenever the vessel runs at load, unless another tag explains it: by being unusually high
# (True: make-up in the condensate's place) or shut (False: the steam valve)
_INSTEAD = {
    "outlet_flow": ("", True), "inlet_flow": ("makeup_flow", True), "steam_flow": ("steam_valve", False),
    "spray_differential": ("", True),
}  # fmt: skip

Bools = npt.NDArray[np.bool_]


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
        stops = _stops(quantities[role], full_scale.get(role), tag.hours, others)
        load = running.load(others)
        spans: dict[_How, list[str]] = {how: [] for how in (_STILL, _IN_TURN, _ALIKE)}
        flickers = list(_flickers(tag, load, others, stops))
        frozen = [*flickers, *_frozen(role, tag, load, others, stops, flickers)]
        for run, inside, how in sorted(frozen, key=lambda f: f[0].first):
            hours[role] = stuck.cut(hours[role], run, inside)
            cut[role]["frozen"] = cut[role].get("frozen", 0) + _readings(tag, run, inside)
            start, end = _span(run, inside, first)
            spans[how].append(f"from {start:%Y-%m-%d %H:%M} to {end:%Y-%m-%d %H:%M}")
            if how != _ALIKE:
                found.append(Stuck(role, start, end, run.value))
        notes += [_still(role, some, how) for how, some in spans.items() if some]
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


def _still(role: str, spans: list[str], how: _How) -> str:
    """A role's standstills of one kind as one note."""
    told = ", ".join(spans[:_TOLD])
    more = len(spans) - _TOLD
    again = f" and {more} more times" if more > 1 else " and once more" if more == 1 else ""
    what, why = how
    return f"{role} {what} {told}{again} (UTC) {why}: cut"


def _flickers(
    tag: Screened, load: Floats | None, others: Mapping[str, Hours], stops: Sequence[tuple[float, float]]
) -> Iterator[tuple[stuck.Run, Bools, _How]]:
    """The days in which the tag showed two values alone while the vessel ran and the other tags moved."""
    runs = ~running.stands(load, len(tag.hours.count))
    none = np.full(2, np.nan)
    nothing = Hours(none, none, none, none, none, np.zeros(2, dtype=np.int64))
    for found in flicker.find(tag.hours, runs):
        inside = runs.copy()
        inside[: found.first] = inside[found.last + 1 :] = False
        start, end = ((tag.first_hour + hour) * HOUR_US for hour in (found.first, found.last + 1))
        readings = int(tag.hours.count[inside].sum())
        run = stuck.Run(start, end, found.values[0], found.first, found.last, readings, nothing)
        rests = any(stuck.at_stop(replace(run, value=v), stops) for v in found.values)
        if not rests and stuck.neighbours_move(inside, list(others.values())):
            yield run, inside, _IN_TURN


def _frozen(
    role: str, tag: Screened, load: Floats | None, others: Mapping[str, Hours],
    stops: Sequence[tuple[float, float]], flickers: Sequence[tuple[stuck.Run, Bools, _How]],
) -> Iterator[tuple[stuck.Run, Bools, _How]]:  # fmt: skip
    """The tag's standstills that are no habit of its own nor part of a flicker, with the hours (a mask) in which the
    vessel does not stand too, and how the other tags do."""
    if not tag.still.runs:
        return
    count = len(tag.hours.count)
    stands = running.stands(load, count)
    spans = tag.still.spans
    middle = tag.hours.median[spans[:, 0]] if len(spans) else np.empty(0)
    resting = np.array(
        [any(low <= v <= high for low, high in stops) for v in middle.tolist()], dtype=np.bool_
    )
    idle = np.array([stands[a : b + 1].mean() > 0.5 for a, b in spans.tolist()], dtype=np.bool_)
    for run in tag.still.runs:
        if any(run.first <= f.last and run.last >= f.first for f, _, _ in flickers):
            continue
        inside = np.zeros(count, dtype=np.bool_)
        inside[run.first : run.last + 1] = True
        at_rest = stuck.at_stop(run, stops)
        inside &= running.loaded(load, count) if at_rest else ~stands
        if at_rest and not _must_flow(role, others, inside):
            continue
        alike = ~idle & (resting == at_rest)
        if stuck.out_of_habit(run, inside, spans[alike], middle[alike]):
            moving = stuck.neighbours_move(inside, list(others.values()))
            if moving is not None:
                yield run, inside, _STILL if moving else _ALIKE


def _must_flow(role: str, others: Mapping[str, Hours], inside: Bools) -> bool:
    """Whether nothing else explains that a meter shows nothing in hours (a mask) in which the vessel runs."""
    instead = _INSTEAD.get(role)
    if instead is None:
        return False
    name, high = instead
    if name not in others or not others[name].count.any():
        return True
    now = others[name].median[inside]
    usual = float(np.nanquantile(others[name].median, 0.9))
    here = float(np.nanmedian(now)) if np.isfinite(now).any() else usual
    return here <= usual if high else here > _NEAR_STOP * usual


def _readings(tag: Screened, run: stuck.Run, inside: Bools) -> int:
    """The run's readings in some hours, as they were stored."""
    if tag.sparse is not None:
        time, value = tag.sparse
        own = time[np.isfinite(value) & (time >= run.start) & (time <= run.end)]
        return int(inside[own // HOUR_US - tag.first_hour].sum())
    edges = np.array([run.first, run.last])
    return int(tag.hours.count[inside].sum() - run.edge.count[inside[edges]].sum())


def _span(run: stuck.Run, inside: Bools, first: int) -> tuple[pd.Timestamp, pd.Timestamp]:
    """The first and last time of the run in some hours."""
    which = np.flatnonzero(inside)
    start = max(run.start, (first + int(which[0])) * HOUR_US)
    return _stamp(start), _stamp(min(run.end, (first + int(which[-1]) + 1) * HOUR_US))


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


def _stops(
    quantity: str, full: float | None, hours: Hours, others: Mapping[str, Hours]
) -> list[tuple[float, float]]:
    """Ranges of the tag's unit in which a value may stand still by nature: valves at their ends, nothing
    flowing, no oxygen."""
    if quantity == "fraction" and full is not None:
        return [(-0.1 * full, _NEAR_STOP * full), ((1 - _NEAR_STOP) * full, 1.1 * full)]
    if quantity == "oxygen":
        # of a vessel that stands it shows a hundred times as much, and tells nothing of little
        runs = ~running.stands(running.load(others), len(hours.count)) & (hours.count > 0)
        usual = float(np.median(hours.median[runs])) if runs.any() else 0.0
        return [(-np.inf, _NEAR_STOP * usual)]
    if quantity in ("flow", "difference"):
        usual = float(np.nanmax(hours.median)) if hours.count.any() else 0.0
        return [(-np.inf, _NEAR_STOP * usual)]
    return []
