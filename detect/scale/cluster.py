"""Vessels on the machines of a dask cluster, one task a vessel; the workers read the exports themselves."""

import logging
import time
from collections.abc import Iterator, Sequence
from typing import Any

from sevenppb.detect.errors import Fault
from sevenppb.detect.scale import vessel_task
from sevenppb.detect.scale.vessel_task import Outcome, Task

PATIENCE = 10.0  # seconds to wait for the scheduler
WITHOUT_WORKERS = 120.0  # seconds in which somebody may start others in place of the last ones that died
GLANCE, LOOK = 0.1, 2.0  # seconds between looks at what is done, and at who is there


class ClusterFault(Fault):
    """The cluster can't be used; the sentence says why and what to do."""


def run(tasks: Sequence[Task], address: str) -> Iterator[Outcome]:
    """Each vessel's outcome as it comes. A vessel whose worker dies is given to another worker; one that has
    killed several workers is failed. Raises ClusterFault."""
    try:
        from distributed import Client, as_completed
    except ImportError:
        raise ClusterFault(
            '--cluster needs packages that are not installed: pip install "sevenppb[cluster]", here and on '
            "every machine of the cluster."
        ) from None
    # what it would tell of lost connections, the sentences here tell
    logging.getLogger("distributed.client").setLevel(logging.CRITICAL)
    try:
        client = Client(address, timeout=PATIENCE, set_as_default=False)  # type: ignore[no-untyped-call]
    except (OSError, ValueError, TypeError) as error:
        raise ClusterFault(
            f"No scheduler answers at {address} ({_first_line(error)}). "
            "Check the address, such as tcp://host:8786, and that the scheduler runs."
        ) from None
    with client:
        if not client.nthreads():  # type: ignore[no-untyped-call]
            raise ClusterFault(f"The scheduler at {address} has no workers. Start some, then scan again.")
        # pure=False: the same task may give another result, since exports change
        names = {client.submit(vessel_task.work, task, pure=False): task.vessel.id for task in tasks}
        waiting = as_completed(list(names), loop=client.loop)  # type: ignore[no-untyped-call]
        for future in _as_they_finish(client, waiting, address):
            name = names.pop(future)
            try:
                outcome: Outcome = future.result(timeout=PATIENCE)
            except TimeoutError:  # its worker died before it was fetched: another one makes it anew
                names[future] = name
                waiting.add(future)  # type: ignore[no-untyped-call]
                continue
            except Exception as error:
                outcome = vessel_task.failed(name, _sentence(name, error))
            future.release()
            yield outcome


def _as_they_finish(client: Any, waiting: Any, address: str) -> Iterator[Any]:
    """Futures as they finish. Without scheduler or workers they would be waited for without end, or come back
    as if their vessels had failed: raises ClusterFault."""
    looked = seen = time.monotonic()
    while waiting.count():
        ready = waiting.next_batch(block=False)
        if any(future.cancelled() for future in ready) or client.status != "running":
            raise _lost(address)
        yield from ready
        now = time.monotonic()
        if ready:
            seen = now
        elif now - looked > LOOK:
            looked = now
            try:
                seen = now if client.nthreads() else seen
            except OSError:
                raise _lost(address) from None
            if now - seen > WITHOUT_WORKERS:
                raise ClusterFault(
                    f"The scheduler at {address} has had no worker for {now - seen:.0f} s. Finished vessels are "
                    "kept: start workers, and the same command goes on from there."
                )
        else:
            time.sleep(GLANCE)


def _lost(address: str) -> ClusterFault:
    return ClusterFault(
        f"The scheduler at {address} was lost in the midst of the scan. Finished vessels are kept: "
        "when it runs again, the same command goes on from there."
    )


def _sentence(name: str, error: BaseException) -> str:
    if type(error).__name__ == "KilledWorker":
        return (
            f'vessel "{name}": every worker that took it died, as happens where the memory does not suffice. '
            "Give the workers more memory, or take a shorter span with --since."
        )
    return (
        f'vessel "{name}": the cluster could not scan it ({type(error).__name__}: {_first_line(error)}). '
        "Check that sevenppb is installed on every worker."
    )


def _first_line(error: BaseException) -> str:
    return (str(error).splitlines() or [type(error).__name__])[0]
