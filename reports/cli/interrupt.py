"""Ctrl-C, and a request to end, wherever they come."""

import contextlib
import os
import signal
import sys
from collections.abc import Callable, Iterator
from types import FrameType

ASKED = (signal.SIGINT, signal.SIGTERM)


def exit_code(interrupted: KeyboardInterrupt) -> int:
    """The status that tells of it, as shells have it: 130 for Ctrl-C, 143 where a scheduler asked to end."""
    return 128 + (interrupted.args[0] if interrupted.args else signal.SIGINT)


def leave(code: object) -> None:
    """End the process at once if `code` tells of an interrupt. A library that was broken off while it loaded or started
    its threads may abort when the interpreter takes it down in order, which would hide what ended the command.
    Nothing is lost: what has to be put away was, on the way here."""
    if isinstance(code, int) and code in {128 + number for number in ASKED}:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)


@contextlib.contextmanager
def noticed() -> Iterator[Callable[[], None]]:
    """Remember Ctrl-C, or that the system asked to end, besides raising it as a KeyboardInterrupt: a library in the
    middle of a read may swallow that, or put an error of its own in its place. The function that is handed out raises
    it again if it came, and so does any error that leaves the block after it came. For the main thread, as all
    handling of signals is."""
    came = 0

    def note(number: int, frame: FrameType | None) -> None:
        nonlocal came
        came = number
        raise KeyboardInterrupt(number)

    def check() -> None:
        if came:
            raise KeyboardInterrupt(came)

    before = {number: signal.signal(number, note) for number in ASKED}
    try:
        yield check
    except Exception:
        check()
        raise
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
