"""Faults of known size in copies of each vessel's own baseline: which sizes does its scan find, and how soon?

Every copy is scanned as the vessel is. The same copies without a fault say how often the scan cries wolf.
All is drawn from one seed: the same seed and readings give the same answer.
"""

from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor, as_completed
from typing import TypeVar

from threadpoolctl import threadpool_limits

from sevenppb.detect import vessel_scan
from sevenppb.detect.causes import CAUSES
from sevenppb.detect.diagnosis import coverage
from sevenppb.detect.errors import Fault
from sevenppb.detect.exports import read
from sevenppb.detect.fleet import Fleet, Vessel
from sevenppb.detect.fleet_scan import Progress, chosen_vessels
from sevenppb.detect.proof import trials
from sevenppb.detect.proof.records import CauseProof, FleetProof, VesselProof
from sevenppb.detect.proof.trials import Ground
from sevenppb.detect.settings import DEFAULTS, Settings

YEAR = 365.25
A = TypeVar("A")
B = TypeVar("B")

# One vessel's ground, or what can't be proved about it and why.
Prepared = Ground | VesselProof


def prove_fleet(
    fleet: Fleet,
    *,
    vessels: tuple[str, ...] = (),
    trials_each: int = 6,
    seed: int = 1,
    workers: int = 1,
    progress: Progress | None = None,
    settings: Settings = DEFAULTS,
    tool: str = "sevenppb",
) -> FleetProof:
    """Prove a fleet's vessels (all, or those named) with `trials_each` trials a cause and as many untouched
    copies.

    progress(what, done, total) is called as parts finish. A name that is no vessel raises FleetFault.
    """
    numbers = {vessel.id: k for k, vessel in enumerate(fleet.vessels)}
    chosen = chosen_vessels(fleet, vessels)
    show = progress or (lambda what, done, total: None)

    asked = [(numbers[vessel.id], vessel, fleet, settings) for vessel in chosen]
    prepared: dict[str, Prepared] = {}
    for done, (work, ready) in enumerate(_worked(_prepare, asked, workers), 1):
        prepared[work[1].id] = ready
        show(f"reading {work[1].id}", done, len(asked))

    jobs = [
        (ready, cause, trials_each, seed, settings)
        for ready in prepared.values()
        if isinstance(ready, Ground)
        for cause in (None, *ready.tried)
    ]
    results: dict[tuple[str, str | None], CauseProof | int] = {}
    for done, (job, result) in enumerate(_worked(_tried, jobs, workers), 1):
        name = job[0].whole.vessel.id
        results[name, job[1]] = result
        show(f"trials on {name}", done, len(jobs))
    return FleetProof(
        fleet=fleet.name,
        tool=tool,
        seed=seed,
        trials=trials_each,
        watched=trials.WATCHED_DAYS,
        growth=coverage.GROWTH,
        within=trials.WITHIN_DAYS,
        vessels=tuple(_proof(vessel, prepared[vessel.id], results, trials_each) for vessel in chosen),
    )


def _prepare(work: tuple[int, Vessel, Fleet, Settings]) -> Prepared:
    """Read and scan the vessel once: the scan chooses its baseline and says which causes are visible."""
    number, vessel, fleet, settings = work
    with threadpool_limits(1):
        try:
            readings = read.read_vessel(vessel, fleet, None, None)
        except Fault as fault:
            return VesselProof(vessel.id, "failed", str(fault), None, (), (), 0, 0.0, 0)
        scanned = vessel_scan.scan_vessel(vessel, readings, settings=settings)
        if scanned.state != "scanned":
            return VesselProof(vessel.id, scanned.state, scanned.error, None, (), (), 0, 0.0, 0)
        return trials.ground(number, vessel, readings, scanned, settings)


def _tried(job: tuple[Ground, str | None, int, int, Settings]) -> CauseProof | int:
    """A cause's trials; without a cause, the number of incidents on untouched copies."""
    on, cause, each, seed, settings = job
    with threadpool_limits(1):
        if cause is None:
            return trials.false_incidents(on, each, seed, settings)
        return trials.cause_proof(on, cause, each, seed, settings)


def _worked(work: Callable[[A], B], items: list[A], workers: int) -> Iterator[tuple[A, B]]:
    """Each item with its result, as they are done."""
    if workers > 1 and len(items) > 1:
        with ProcessPoolExecutor(max_workers=min(workers, len(items))) as pool:
            running = {pool.submit(work, item): item for item in items}
            for future in as_completed(running):
                yield running[future], future.result()
    else:
        for item in items:
            yield item, work(item)


def _proof(
    vessel: Vessel, ready: Prepared, results: dict[tuple[str, str | None], CauseProof | int], each: int
) -> VesselProof:
    if isinstance(ready, VesselProof):
        return ready
    hours = ready.whole.readings.hourly.index
    found = [results[vessel.id, cause] for cause in CAUSES if cause in ready.tried]
    false = results[vessel.id, None]
    return VesselProof(
        id=vessel.id,
        state="scanned",
        error=None,
        baseline=(hours[0], hours[-1].floor("D")),
        causes=tuple(row for row in found if isinstance(row, CauseProof)),
        unseen=tuple(
            c.slug for c in CAUSES.values() if c.parameter is not None and c.slug not in ready.tried
        ),
        untouched=each,
        years=each * trials.WATCHED_DAYS / YEAR,
        false=false if isinstance(false, int) else 0,
    )
