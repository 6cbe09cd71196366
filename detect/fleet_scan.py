"""Many vessels: one after the other, in processes or on a cluster; a vessel that fails does not stop the rest.

With a folder to keep results in, each is there as soon as its vessel is done. A later scan takes from it what
would come out the same, and memory holds no vessel's days.
"""

import contextlib
from collections.abc import Callable
from pathlib import Path

import pandas as pd

from sevenppb.detect import baseline, vessel_scan, whole_file
from sevenppb.detect.errors import FleetFault
from sevenppb.detect.fleet import Fleet, Vessel
from sevenppb.detect.incidents.incident import FleetScan, VesselScan
from sevenppb.detect.scale import cluster as clusters
from sevenppb.detect.scale import kept, processes, vessel_task
from sevenppb.detect.scale.vessel_task import Outcome
from sevenppb.detect.seasonal import pool
from sevenppb.detect.seasonal.lent import Lent

Progress = Callable[[str, int, int], None]
ENDING = ".parquet"


def scan(
    fleet: Fleet,
    *,
    since: pd.Timestamp | None = None,
    until: pd.Timestamp | None = None,
    vessels: tuple[str, ...] = (),
    workers: int = 1,
    cluster: str | None = None,
    keep: Path | None = None,
    progress: Progress | None = None,
    tool: str = "sevenppb",
) -> FleetScan:
    """Scan a fleet's vessels (all, or those named), using no reading before `since` or after `until`.

    workers  processes on this machine; `cluster`, the address of a dask scheduler, stands in their place
    keep     folder of results by vessel, made where it is missing. What would come out the same is taken from
             there; results of vessels that the fleet file no longer has are removed.

    progress(vessel, done, total) is called as vessels finish. A name that is no vessel raises FleetFault; a
    cluster that can't be used, ClusterFault; a folder that can't be written to, OSError.
    """
    chosen = chosen_vessels(fleet, vessels)
    done: dict[str, VesselScan] = {}
    if keep is not None:
        _tidy(keep, fleet)
    rounds = _rounds(fleet, chosen)
    total = sum(map(len, rounds))
    lent: tuple[Lent, ...] = ()
    for group in rounds:
        tasks = [
            vessel_task.task(
                vessel,
                fleet,
                since,
                until,
                None if keep is None else kept.stamp_of(_place(keep, vessel.id)),
                lent,
            )
            for vessel in group
        ]
        known = {task.vessel.id: task.known for task in tasks}
        outcomes = processes.run(tasks, workers) if cluster is None else clusters.run(tasks, cluster)
        with contextlib.closing(outcomes):  # type: ignore[type-var]
            for outcome in outcomes:
                done[outcome.vessel] = _result(outcome, keep, known[outcome.vessel])
                if progress is not None:
                    progress(outcome.vessel, len(done), total)
        lent = tuple(one for vessel in group if (one := done[vessel.id].lent) is not None)
    results = tuple(done[vessel.id] for vessel in chosen)
    spans = [r.span for r in results if r.span is not None]
    return FleetScan(
        fleet=fleet.name,
        tool=tool,
        start=min((s[0] for s in spans), default=None),
        until=max((s[1] for s in spans), default=None),
        vessels=results,
        incidents=vessel_scan.all_incidents(results),
    )


def _rounds(fleet: Fleet, chosen: list[Vessel]) -> list[list[Vessel]]:
    """Those chosen; before those who need others to know the season, all whose baseline has seen the year, so that a
    vessel's result is the same whoever else is chosen."""
    lenders = [vessel for vessel in fleet.vessels if baseline.is_long(vessel)]
    borrowers = [vessel for vessel in chosen if not baseline.is_long(vessel)]
    if not borrowers or len(lenders) < pool.LEAST:
        return [chosen]
    return [lenders, borrowers]


def chosen_vessels(fleet: Fleet, names: tuple[str, ...]) -> list[Vessel]:
    """The fleet's vessels of these names, in its order; all without names. Raises FleetFault."""
    unknown = [name for name in names if name not in {vessel.id for vessel in fleet.vessels}]
    if unknown:
        known = ", ".join(vessel.id for vessel in fleet.vessels)
        raise FleetFault([f'There is no vessel "{v}" in {fleet.path.name}; it has {known}.' for v in unknown])
    return [vessel for vessel in fleet.vessels if not names or vessel.id in names]


def _result(outcome: Outcome, keep: Path | None, known: str | None) -> VesselScan:
    """A vessel's result, kept where that is wanted. A failure is not kept: its cause may go away unseen.
    `known` is the stamp of the result that was there when the scan began, maybe hours ago."""
    if keep is None or outcome.state == "failed":
        assert outcome.content is not None
        return kept.decoded(outcome.content)
    place = _place(keep, outcome.vessel)
    if outcome.content is not None:
        whole_file.put(keep, {place.name: outcome.content})
    elif kept.stamp_of(place) != known:
        return vessel_task.failed_scan(
            outcome.vessel,
            f'vessel "{outcome.vessel}": {place} was removed or written anew by another scan meanwhile. Run one '
            "scan at a time into a folder; run this one again.",
        )
    return kept.opened(place)


def _place(keep: Path, vessel: str) -> Path:
    return keep / (vessel + ENDING)


def _tidy(keep: Path, fleet: Fleet) -> None:
    """The folder, made if it is missing, without what no vessel stands for."""
    keep.mkdir(parents=True, exist_ok=True)
    whole_file.sweep(keep)
    wanted = {vessel.id + ENDING for vessel in fleet.vessels}
    for path in keep.glob("*" + ENDING):
        if path.name not in wanted:
            path.unlink(missing_ok=True)
