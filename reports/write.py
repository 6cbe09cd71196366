"""Files appear whole or not at all."""

import contextlib
import os
import tempfile
from pathlib import Path

from sevenppb.detect.errors import Fault


class WriteFault(Fault):
    """The folder for the outputs can't be written to; the sentence names it and the remedy."""

    @classmethod
    def of(cls, folder: Path, error: OSError) -> "WriteFault":
        """The system's reason as a sentence."""
        reason = error.strerror or str(error)
        return cls(f"Can't write to {folder}: {reason}. Choose another folder with --out.")


def write_all(folder: Path, files: dict[str, bytes]) -> None:
    """Write every file into `folder` (made if it is missing). All are first written beside their places and
    flushed to disk; only when the last one is there do they take their names.

    Raises WriteFault, with nothing of the new set in place unless the system failed between two renames."""
    pending: list[tuple[Path, Path]] = []
    make_folder(folder)
    try:
        for name, content in files.items():
            handle, temporary = tempfile.mkstemp(prefix=f".{name}.", suffix=".part", dir=folder)
            pending.append((Path(temporary), folder / name))
            with os.fdopen(handle, "wb") as stream:
                stream.write(content)
                stream.flush()
                os.fsync(stream.fileno())
            Path(temporary).chmod(0o666 & ~_umask())
        for temporary_path, place in pending:
            temporary_path.replace(place)
    except OSError as error:
        raise WriteFault.of(folder, error) from error
    finally:
        for temporary_path, _ in pending:
            with contextlib.suppress(OSError):
                temporary_path.unlink(missing_ok=True)


def make_folder(folder: Path, *, probe: bool = False) -> None:
    """The folder, with those above it; with `probe`, tried, so that hours of work are not lost on one that can't
    be written to. Raises WriteFault."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if probe:
            tempfile.TemporaryFile(dir=folder).close()
    except OSError as error:
        raise WriteFault.of(folder, error) from error


def _umask() -> int:
    """The process's mask for new files: mkstemp ignores it and would leave reports unreadable to others."""
    mask = os.umask(0)
    os.umask(mask)
    return mask
