"""What a vessel's result was made from, as one short text: equal stamps mean that a scan would say the same.

Every byte of every export counts, by a hash: times and sizes alone would miss an export that was put back
with its old time. Hashing costs a small part of what reading does (docs/scale.md).
"""

import functools
import hashlib
import json
from collections.abc import Sequence
from importlib.metadata import version
from pathlib import Path
from typing import BinaryIO

import pandas as pd

from sevenppb.detect.exports.files import ExportFile
from sevenppb.detect.fleet import Fleet, Vessel
from sevenppb.detect.seasonal.lent import Lent
from sevenppb.detect.settings import Settings

# Another version of these may give another figure.
_LIBRARIES = (
    "duckdb",
    "iapws",
    "numpy",
    "pandas",
    "pyarrow",
    "scikit-learn",
    "scipy",
    "statsmodels",
    "tzdata",
)
_SIZE = 16  # bytes
_BLOCK = 1 << 20  # bytes


@functools.cache
def code() -> str:
    """The program: its own sources and the libraries that calculate."""
    own = hashlib.blake2b(digest_size=_SIZE)
    folder = Path(__file__).parents[1]  # detect, as a whole
    for path in sorted(folder.rglob("*.py")):
        own.update(str(path.relative_to(folder)).encode() + b"\0" + path.read_bytes() + b"\0")
    for name in _LIBRARIES:
        own.update(f"{name} {version(name)}\0".encode())
    return own.hexdigest()


def contents(files: Sequence[ExportFile]) -> tuple[str, ...]:
    """Each export's name and hash, whatever the working folder. Raises OSError where one can't be read."""
    told = []
    for file in files:
        name = file.shown if "://" in file.shown else file.path.absolute()
        with file.path.open("rb") as stream:
            told.append(f"{name} {_hashed(stream)}")
    return tuple(told)


def stamp(
    vessel: Vessel,
    fleet: Fleet,
    span: tuple[pd.Timestamp | None, pd.Timestamp | None],
    settings: Settings,
    read: Sequence[str],
    lent: Sequence[Lent] = (),
) -> str:
    """Of a vessel's entry in the fleet file, what the fleet lays on it, the days asked for, the settings, the
    program, the contents of the exports, and what other vessels lend."""
    parts = [code(), repr(vessel), fleet.timezone, repr(fleet.cost), repr(settings), *map(str, span), *read]
    parts += map(repr, lent)
    return hashlib.blake2b(json.dumps(parts).encode(), digest_size=_SIZE).hexdigest()


def _hashed(stream: BinaryIO) -> str:
    hashed = hashlib.blake2b(digest_size=_SIZE)
    while block := stream.read(_BLOCK):
        hashed.update(block)
    return hashed.hexdigest()
