"""The most memory that work takes, counted by what Python asks for: the same on every machine."""

import gc
import tracemalloc
from collections.abc import Callable


def most_memory(work: Callable[[], object]) -> int:
    """Bytes at the peak of `work()`, over what was held before."""
    gc.collect()
    tracemalloc.start()
    try:
        work()
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
