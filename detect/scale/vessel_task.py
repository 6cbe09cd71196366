"""One vessel's whole work, wherever it is done: find its exports, see whether they changed, read and scan.

All that can go wrong with one vessel becomes its state and its sentence.
"""

import functools
import tempfile
import traceback
from dataclasses import dataclass, replace
from pathlib import Path

import pandas as pd
from threadpoolctl import ThreadpoolController

from sevenppb.detect import vessel_scan
from sevenppb.detect.errors import Fault, VesselFault
from sevenppb.detect.exports import files, read
from sevenppb.detect.fleet import Fleet, Vessel
from sevenppb.detect.incidents.incident import VesselScan
from sevenppb.detect.scale import kept, stamp
from sevenppb.detect.seasonal.lent import Lent
from sevenppb.detect.settings import DEFAULTS


@dataclass(frozen=True)
class Task:
    """What a worker is told: the vessel, the fleet with no vessel but this, the days asked for, the stamp of
    the result that is kept of it (None: there is none), the program that the result must come from, and what other
    vessels lend of their seasons."""

    vessel: Vessel
    fleet: Fleet
    since: pd.Timestamp | None
    until: pd.Timestamp | None
    known: str | None
    code: str
    lent: tuple[Lent, ...]


@dataclass(frozen=True)
class Outcome:
    """What a worker hands back. `content` is the result as `kept` writes it; None: the one kept still holds."""

    vessel: str
    state: str
    content: bytes | None


def task(
    vessel: Vessel,
    fleet: Fleet,
    since: pd.Timestamp | None,
    until: pd.Timestamp | None,
    known: str | None,
    lent: tuple[Lent, ...] = (),
) -> Task:
    """The task for a vessel of a fleet."""
    return Task(vessel, replace(fleet, vessels=(vessel,)), since, until, known, stamp.code(), lent)


def work(asked: Task) -> Outcome:
    """Do it. Raises nothing that one vessel can be at fault for."""
    name = asked.vessel.id
    try:
        # One thread a vessel: small matrices gain nothing from more, and workers would fight for the cores.
        with _libraries().limit(limits=1), tempfile.TemporaryDirectory(prefix="sevenppb-") as folder:
            return _work(asked, Path(folder))
    except Fault as fault:
        return failed(name, str(fault))
    except MemoryError:
        return failed(name, lacks_memory(name))
    except Exception as error:  # a fault of ours in one vessel must not cost the others their scan
        at = traceback.extract_tb(error.__traceback__)[-1]
        return failed(
            name,
            f'vessel "{name}": the scan stopped at an unforeseen {type(error).__name__} '
            f"({error}; {Path(at.filename).name}, line {at.lineno}). Tell the maintainers.",
        )


@functools.cache  # to look for them costs more than to limit them
def _libraries() -> ThreadpoolController:
    """The loaded libraries that have threads of their own."""
    return ThreadpoolController()


def _work(asked: Task, folder: Path) -> Outcome:
    vessel = asked.vessel
    if asked.code != stamp.code():
        raise VesselFault(
            f'vessel "{vessel.id}": the worker has another version of sevenppb or of a library that it needs. '
            "Install the same versions everywhere."
        )
    found = files.find(vessel.id, vessel.exports, folder)
    before = _contents(vessel, found)
    made_from = stamp.stamp(vessel, asked.fleet, (asked.since, asked.until), DEFAULTS, before, asked.lent)
    if made_from == asked.known:
        return Outcome(vessel.id, "scanned", None)
    readings = read.read_vessel(vessel, asked.fleet, asked.since, asked.until, found)
    after = _contents(vessel, found)
    for one, other in zip(before, after, strict=True):
        if one != other:
            raise VesselFault(
                f'vessel "{vessel.id}": {one.rpartition(" ")[0]} changed while it was read. '
                "Run the scan again when the export is finished."
            )
    result = vessel_scan.scan_vessel(vessel, readings, asked.fleet.cost, lent=asked.lent)
    return Outcome(vessel.id, result.state, kept.encoded(result, made_from))


def _contents(vessel: Vessel, found: list[files.ExportFile]) -> tuple[str, ...]:
    try:
        return stamp.contents(found)
    except OSError as error:
        raise VesselFault(
            f'vessel "{vessel.id}": an export can\'t be read ({error.strerror or error}). '
            "Check that it is there and may be read."
        ) from None


def lacks_memory(name: str) -> str:
    """The sentence for a vessel that memory does not suffice for."""
    return (
        f'vessel "{name}": the memory did not suffice. Use fewer --workers, or a shorter span with --since, '
        "or export fewer readings a file."
    )


def failed(name: str, sentence: str) -> Outcome:
    """The outcome of a vessel that could not be scanned."""
    return Outcome(name, "failed", kept.encoded(failed_scan(name, sentence), ""))


def failed_scan(name: str, sentence: str) -> VesselScan:
    """Its result."""
    nothing = pd.DataFrame()
    return VesselScan(
        name, "failed", sentence, 0, 0.0, 0.0, None, None, (), (), (), nothing, {}, nothing, {}, ()
    )
