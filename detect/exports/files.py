"""Which files a vessel's patterns name, and what kind each is by its first bytes."""

import fnmatch
import glob
import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from sevenppb.detect.errors import ExportFault, VesselFault

Kind = Literal["parquet", "text"]
Compression = Literal["none", "gzip", "zstd"]
_ENDINGS = (".parquet", ".parq", ".pq", ".csv", ".txt", ".tsv", ".dat", ".gz", ".zst")


@dataclass(frozen=True)
class ExportFile:
    """One file: `shown` is how sentences name it."""

    path: Path
    shown: str
    kind: Kind
    compression: Compression


def find(vessel: str | None, patterns: tuple[str, ...], folder: Path) -> list[ExportFile]:
    """The files that the patterns name, in the patterns' order and by name within each; a folder stands for
    all exports in it and below. Addresses (file://, s3://, gs:// …) are copied to `folder` first. `vessel` is the one
    whose fleet file names them; None: a person did.

    Raises VesselFault where a pattern names no file, ExportFault where a file is neither Parquet nor text."""
    found: dict[Path, str] = {}
    for pattern in patterns:
        named = _fetched(vessel, pattern, folder) if "://" in pattern else _local(pattern)
        if not named:
            remedy = "Correct exports in the fleet file or put the export there."
            raise VesselFault(
                f"{_of(vessel)}no file matches {pattern}. {remedy if vessel else 'Name exports that are there.'}"
            )
        for path, shown in named:
            found.setdefault(path, shown)
    return [_opened(path, shown) for path, shown in found.items()]


def _local(pattern: str) -> list[tuple[Path, str]]:
    named_so = os.path.exists(pattern)  # a name may hold what would stand for others in a pattern
    paths = [Path(p) for p in ([pattern] if named_so else sorted(glob.glob(pattern, recursive=True)))]
    named: list[tuple[Path, str]] = []
    for path in paths:
        inside = sorted(p for p in path.rglob("*") if _is_export(p)) if path.is_dir() else [path]
        named += [(p, _short(p)) for p in inside]
    return named


def _is_export(path: Path) -> bool:
    hidden = any(part.startswith((".", "_")) for part in path.parts[-1:])
    return path.is_file() and path.suffix.lower() in _ENDINGS and not hidden


def _short(path: Path) -> str:
    """The path from the working folder on where it is below it: the shortest that a user can follow."""
    return os.path.relpath(path) if path.is_relative_to(Path.cwd()) else str(path)


def _of(vessel: str | None) -> str:
    return "" if vessel is None else f'vessel "{vessel}": '


def _fetched(vessel: str | None, pattern: str, folder: Path) -> list[tuple[Path, str]]:
    """Copies of the files at an address; stars may stand in its last part."""
    from pyarrow import fs

    head, _, last = pattern.rpartition("/")
    try:
        store, base = _store(head)
        listed = store.get_file_info(fs.FileSelector(base, allow_not_found=True))
        names = sorted(i.path for i in listed if i.is_file and fnmatch.fnmatch(i.base_name, last))
        copies = []
        for name in names:
            copy = folder / f"fetched-{len(list(folder.iterdir()))}-{name.rpartition('/')[2]}"
            fs.copy_files(
                name, str(copy), source_filesystem=store, destination_filesystem=fs.LocalFileSystem()
            )
            copies.append((copy, f"{head}/{name.rpartition('/')[2]}"))
    except (OSError, ValueError, ImportError) as error:
        reason = (str(error).splitlines() or [type(error).__name__])[0]
        raise VesselFault(
            f"{_of(vessel)}{pattern} can't be fetched ({reason}). Check the address and access."
        ) from None
    return copies


def _store(address: str) -> tuple[Any, str]:
    """The file system that an address is on, and the place there: one of Arrow's own, or where fsspec is
    installed (sevenppb[cluster]) any that this knows."""
    from pyarrow import fs

    try:
        found: tuple[Any, str] = fs.FileSystem.from_uri(address)
    except ValueError:
        try:
            from fsspec.core import url_to_fs
        except ImportError:
            pass
        else:
            other, place = url_to_fs(address)
            return fs.PyFileSystem(fs.FSSpecHandler(other)), place
        raise
    return found


def _opened(path: Path, shown: str) -> ExportFile:
    try:
        with path.open("rb") as file:
            magic = file.read(8)
    except OSError as error:
        raise ExportFault(
            f"{shown}: can't be read ({error.strerror}). Check that the file exists and may be read."
        ) from None
    if not magic:
        raise ExportFault(f"{shown}: is empty (0 bytes). Export it again.")
    if magic[:4] == b"PAR1":
        return ExportFile(path, shown, "parquet", "none")
    if magic[:4] == b"PK\x03\x04" or magic[:4] == b"\xd0\xcf\x11\xe0":
        raise ExportFault(f"{shown}: is a spreadsheet or zip archive. Save the sheet as CSV, or unpack it.")
    if magic[:2] == b"\x1f\x8b":
        return ExportFile(path, shown, "text", "gzip")
    if magic[:4] == b"\x28\xb5\x2f\xfd":
        return ExportFile(path, shown, "text", "zstd")
    return ExportFile(path, shown, "text", "none")
