"""Vessels in processes of this machine. A process that dies costs its own vessel at most, none of the others."""

import contextlib
import os
import shutil
import signal
import tempfile
import threading
from collections import deque
from collections.abc import Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import connection, parent_process

from sevenppb.detect.scale import vessel_task
from sevenppb.detect.scale.vessel_task import Outcome, Task

_DYING = 5.0  # seconds for a killed process to be gone


def run(tasks: Sequence[Task], workers: int) -> Iterator[Outcome]:
    """Each vessel's outcome as it comes, from this process or from `workers` of its children."""
    if workers == 1 or len(tasks) == 1:
        yield from map(vessel_task.work, tasks)
        return
    left = deque(tasks)
    while left:
        suspects: list[Task] = []
        yield from _together(left, min(workers, len(left)), suspects)
        for task in suspects:  # one of these killed its process: by itself, the guilty one is known
            yield from _alone(task)


def _together(left: deque[Task], workers: int, suspects: list[Task]) -> Iterator[Outcome]:
    """Takes tasks off the front of `left`. No more are handed out than there are processes: where one dies,
    those that were at work are the `suspects`."""
    with _pool(workers) as pool:
        running: dict[Future[Outcome], Task] = {}
        ready: deque[Outcome] = deque()
        try:
            while left or running:
                while left and len(running) < workers:
                    running[pool.submit(vessel_task.work, left[0])] = left[0]
                    left.popleft()
                while ready:  # only now: no process waits for what the caller does with them
                    yield ready.popleft()
                done, _ = wait(running, return_when=FIRST_COMPLETED)
                for future in done:
                    ready.append(future.result())
                    del running[future]
        except BrokenProcessPool:
            suspects += running.values()
        except BaseException:  # an interrupt, or the caller wants no more: nothing is waited for
            _stop(pool)
            raise
        yield from ready


def _alone(task: Task) -> Iterator[Outcome]:
    with _pool(1) as pool:
        try:
            outcome = pool.submit(vessel_task.work, task).result()
        except BrokenProcessPool:
            outcome = vessel_task.failed(task.vessel.id, died(task.vessel.id))
        except BaseException:
            _stop(pool)
            raise
    yield outcome


def died(name: str) -> str:
    """The sentence for a vessel whose process was killed, as systems do that run out of memory."""
    return (
        f'vessel "{name}": its process was killed twice, as a system does whose memory is full. '
        "Use fewer --workers, or a shorter span with --since."
    )


@contextlib.contextmanager
def _pool(workers: int) -> Iterator[ProcessPoolExecutor]:
    """Processes whose temporary files lie in one folder, which goes with them however they end."""
    with (
        tempfile.TemporaryDirectory(prefix="sevenppb-", ignore_cleanup_errors=True) as folder,
        ProcessPoolExecutor(max_workers=workers, initializer=_begin, initargs=(folder,)) as pool,
    ):
        yield pool


def _stop(pool: ProcessPoolExecutor) -> None:
    processes = list((pool._processes or {}).values())
    for process in processes:
        process.kill()
    pool.shutdown(wait=False, cancel_futures=True)
    for process in processes:
        process.join(_DYING)


def _begin(folder: str) -> None:
    """In a child: the parent alone answers to Ctrl-C, and no child outlives it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    tempfile.tempdir = folder
    threading.Thread(target=_leave_with_parent, args=(folder,), daemon=True).start()


def _leave_with_parent(folder: str) -> None:
    parent = parent_process()
    if parent is not None:
        connection.wait([parent.sentinel])
        shutil.rmtree(folder, ignore_errors=True)
        os._exit(1)
