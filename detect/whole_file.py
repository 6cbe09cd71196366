"""Files appear whole or not at all, and what a killed process left half written is swept away."""

import contextlib
import os
import tempfile
import time
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import BinaryIO

PART = ".part"
LEFT_BEHIND = 3600.0  # seconds after which nobody can still be writing
Content = (
    bytes | Callable[[BinaryIO], None]
)  # or what writes it: a whole fleet's days need not fit into memory


def put(folder: Path, files: Mapping[str, Content]) -> None:
    """Write every file into `folder`. All are first written beside their places and flushed to disk; only when
    the last one is there do they take their names.

    Raises OSError, with nothing of the new set in place unless the system failed between two renames."""
    pending: list[tuple[Path, Path]] = []
    try:
        for name, content in files.items():
            handle, temporary = tempfile.mkstemp(prefix=f".{name}.", suffix=PART, dir=folder)
            pending.append((Path(temporary), folder / name))
            with os.fdopen(handle, "wb") as stream:
                if callable(content):
                    content(stream)
                else:
                    stream.write(content)
                stream.flush()
                os.fsync(stream.fileno())
            Path(temporary).chmod(0o666 & ~_umask())
        for temporary_path, place in pending:
            temporary_path.replace(place)
    finally:
        for temporary_path, _ in pending:
            with contextlib.suppress(OSError):
                temporary_path.unlink(missing_ok=True)


def sweep(folder: Path) -> None:
    """Remove what processes that were killed left half written in the folder."""
    for path in folder.glob(f".*{PART}"):
        with contextlib.suppress(OSError):  # another process has just done it
            if time.time() - path.stat().st_mtime > LEFT_BEHIND:
                path.unlink()


def _umask() -> int:
    """The process's mask for new files: mkstemp ignores it and would leave reports unreadable to others."""
    mask = os.umask(0)
    os.umask(mask)
    return mask
