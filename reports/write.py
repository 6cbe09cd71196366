"""Files appear whole or not at all."""

import tempfile
from collections.abc import Mapping
from pathlib import Path

from sevenppb.detect import whole_file
from sevenppb.detect.errors import Fault


class WriteFault(Fault):
    """The folder for the outputs can't be written to; the sentence names it and the remedy."""

    @classmethod
    def of(cls, folder: Path, error: OSError) -> "WriteFault":
        """The system's reason as a sentence."""
        reason = error.strerror or str(error)
        return cls(f"Can't write to {folder}: {reason}. Choose another folder with --out.")


def write_all(folder: Path, files: Mapping[str, whole_file.Content]) -> None:
    """Write every file into `folder` (made if it is missing), all of them or none.

    Raises WriteFault, with nothing of the new set in place unless the system failed between two renames."""
    make_folder(folder)
    try:
        whole_file.sweep(folder)
        whole_file.put(folder, files)
    except OSError as error:
        raise WriteFault.of(folder, error) from error


def make_folder(folder: Path, *, probe: bool = False) -> None:
    """The folder, with those above it; with `probe`, tried, so that hours of work are not lost on one that can't
    be written to. Raises WriteFault."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if probe:
            tempfile.TemporaryFile(dir=folder).close()
    except OSError as error:
        raise WriteFault.of(folder, error) from error
