"""Vessels on the machines of a dask cluster, one task a vessel; the workers read the exports themselves."""

from collections.abc import Iterator, Sequence
from typing import Any

from sevenppb.detect import vessel_task
from sevenppb.detect.errors import Fault
from sevenppb.detect.vessel_task import Outcome, Task

PATIENCE = 10.0  # seconds to wait for the scheduler


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
    try:
        client = Client(address, timeout=PATIENCE, set_as_default=False)  # type: ignore[no-untyped-call]
    except (OSError, ValueError, TypeError) as error:
        raise ClusterFault(
            f"No scheduler answers at {address} ({_first_line(error)}). "
            "Check the address, such as tcp://host:8786, and that the scheduler runs."
        ) from None
    with client:
        if not client.scheduler_info(n_workers=-1)["workers"]:
            raise ClusterFault(f"The scheduler at {address} has no workers. Start some, then scan again.")
        # pure=False: the same task may give another result, since exports change
        names = {client.submit(vessel_task.work, task, pure=False): task.vessel.id for task in tasks}
        waiting = as_completed(list(names), loop=client.loop)  # type: ignore[no-untyped-call]
        for future in waiting:
            name = names.pop(future)
            if future.status == "finished":
                outcome: Outcome = future.result()
            else:
                outcome = vessel_task.failed(name, _sentence(name, _reason(future)))
            future.release()
            yield outcome


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


def _reason(future: Any) -> BaseException:
    """Why a task has no result."""
    if future.status == "cancelled":  # by the scheduler, as when it is shut down
        return RuntimeError("cancelled")
    reason: BaseException = future.exception()
    return reason


def _first_line(error: BaseException) -> str:
    return (str(error).splitlines() or [type(error).__name__])[0]
