"""Ctrl-C, wherever it comes."""

import contextlib
import signal
from collections.abc import Callable, Iterator
from types import FrameType

EXIT_CODE = 130  # as shells have it


@contextlib.contextmanager
def noticed() -> Iterator[Callable[[], None]]:
    """Remember Ctrl-C besides raising it: a library in the middle of a read may swallow the KeyboardInterrupt,
    or put an error of its own in its place. The function that is handed out raises it again if it came, and so
    does any error that leaves the block after it came. For the main thread, as all handling of signals is."""
    came = False

    def note(number: int, frame: FrameType | None) -> None:
        nonlocal came
        came = True
        raise KeyboardInterrupt

    def check() -> None:
        if came:
            raise KeyboardInterrupt

    before = signal.signal(signal.SIGINT, note)
    try:
        yield check
    except Exception:
        check()
        raise
    finally:
        signal.signal(signal.SIGINT, before)
