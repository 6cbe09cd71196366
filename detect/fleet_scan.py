"""Many vessels: one after the other or in worker processes; a vessel that fails does not stop the rest."""

from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor, as_completed

import pandas as pd
from threadpoolctl import threadpool_limits

from sevenppb.detect import scan
from sevenppb.detect.errors import Fault, FleetFault
from sevenppb.detect.exports import read
from sevenppb.detect.fleet import Fleet, Vessel
from sevenppb.detect.incidents.incident import FleetScan, VesselScan

Progress = Callable[[str, int, int], None]


def scan_fleet(
    fleet: Fleet,
    *,
    since: pd.Timestamp | None = None,
    until: pd.Timestamp | None = None,
    vessels: tuple[str, ...] = (),
    workers: int = 1,
    progress: Progress | None = None,
    tool: str = "sevenppb",
) -> FleetScan:
    """Scan a fleet's vessels (all, or those named), using no reading before `since` or after `until`.

    progress(vessel, done, total) is called as vessels finish. A name that is no vessel raises FleetFault.
    """
    chosen = chosen_vessels(fleet, vessels)
    done: dict[str, VesselScan] = {}

    def finish(result: VesselScan) -> None:
        done[result.id] = result
        if progress is not None:
            progress(result.id, len(done), len(chosen))

    if workers > 1 and len(chosen) > 1:
        with ProcessPoolExecutor(max_workers=min(workers, len(chosen))) as pool:
            for future in as_completed([pool.submit(scan_one, v, fleet, since, until) for v in chosen]):
                finish(future.result())
    else:
        for vessel in chosen:
            finish(scan_one(vessel, fleet, since, until))
    results = tuple(done[vessel.id] for vessel in chosen)
    spans = [r.span for r in results if r.span is not None]
    return FleetScan(
        fleet=fleet.name,
        tool=tool,
        start=min((s[0] for s in spans), default=None),
        until=max((s[1] for s in spans), default=None),
        vessels=results,
        incidents=scan.all_incidents(results),
    )


def chosen_vessels(fleet: Fleet, names: tuple[str, ...]) -> list[Vessel]:
    """The fleet's vessels of these names, in its order; all without names. Raises FleetFault."""
    unknown = [name for name in names if name not in {vessel.id for vessel in fleet.vessels}]
    if unknown:
        known = ", ".join(vessel.id for vessel in fleet.vessels)
        raise FleetFault([f'There is no vessel "{v}" in {fleet.path.name}; it has {known}.' for v in unknown])
    return [vessel for vessel in fleet.vessels if not names or vessel.id in names]


def scan_one(
    vessel: Vessel, fleet: Fleet, since: pd.Timestamp | None, until: pd.Timestamp | None
) -> VesselScan:
    """Read and scan one vessel; what is wrong with it becomes its state and its sentence."""
    try:
        # One thread a vessel: small matrices gain nothing from more, and workers would fight for the cores.
        with threadpool_limits(1):
            return scan.scan_vessel(vessel, read.read_vessel(vessel, fleet, since, until), fleet.cost)
    except Fault as fault:
        return failed(vessel.id, str(fault))


def failed(vessel: str, sentence: str) -> VesselScan:
    """The result of a vessel that could not be scanned."""
    nothing = pd.DataFrame()
    return VesselScan(
        vessel, "failed", sentence, 0, 0.0, 0.0, None, None, (), (), (), nothing, {}, nothing, {}
    )
