"""An incident's state, from what a scan or a person says of it."""

from typing import Literal

from sevenppb.detect.incidents.incident import State
from sevenppb.detect.register.finding import Finding

URGENCY_STEP = 0.15  # rise of urgency that counts as clear
Event = Literal["found", "grown", "ended", "missing", "noted", "closed"]


def next_state(state: State | None, event: Event) -> State:
    """The state after an event; `state` is None before the first scan that lists the incident.

    found, grown, ended  a scan found it: as it was, grown, or over
    missing              a scan that could have seen it did not find it
    noted, closed        a person's doing
    """
    if state == "closed" or event == "closed":
        return "closed"
    if event in ("ended", "missing"):
        return "eased"
    if event == "noted":
        return "eased" if state == "eased" else "acknowledged"
    if state is None:
        return "new"
    if event == "grown":
        return "worsening"
    return "acknowledged" if state == "acknowledged" else "open"


def event(now: Finding, yardstick: Finding | None) -> Event:
    """What a scan says of an incident that it found, against the finding that people last heard of."""
    if now.ended is not None:
        return "ended"
    return "grown" if yardstick is not None and grown(yardstick, now) else "found"


def grown(earlier: Finding, now: Finding) -> bool:
    """The magnitude lies beyond its earlier interval, away from zero, or the urgency is clearly up."""
    before, after = earlier.urgency, now.urgency
    if before is not None and after is not None and after >= before + URGENCY_STEP:
        return True
    if (earlier.cause, earlier.role, earlier.what, earlier.unit) != (now.cause, now.role, now.what, now.unit):
        return False
    # the value at which a sensor is stuck is no size
    if now.cause == "sensor-stuck" or now.value is None or earlier.low is None or earlier.high is None:
        return False
    return abs(now.value) > max(abs(earlier.low), abs(earlier.high))


def heard(before: State | None, after: State) -> bool:
    """Whether this step gives people a new size to hold in mind: later growth is measured from here."""
    return after in ("new", "worsening") or before is None or (before == "eased" and after != "eased")
