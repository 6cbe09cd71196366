"""The chart library put together with a page's own words. That takes a second, so it is kept in the user's cache
folder: each version by itself, whole or not at all, safe to delete, and done without where nothing can be written."""

import contextlib
import hashlib
from importlib import metadata
from pathlib import Path

import platformdirs

from sevenppb.detect import whole_file


def script(words: str) -> str:
    """The library's script, with `words` as its last."""
    import vl_convert

    folder = platformdirs.user_cache_path("sevenppb")
    name = f"charts-{metadata.version('vl-convert-python')}-{_digest(words.encode())[:12]}.js"
    known = _kept(folder / name)
    if known is not None:
        return known
    made: str = vl_convert.javascript_bundle(words)
    with contextlib.suppress(OSError):
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        whole_file.put(folder, {name: f"{_digest(made.encode())}\n{made}".encode()})
    return made


def _kept(place: Path) -> str | None:
    """What the file holds after a line with its digest; None where it is missing or damaged."""
    try:
        digest, _, content = place.read_bytes().partition(b"\n")
        return content.decode() if digest.decode() == _digest(content) else None
    except (OSError, UnicodeDecodeError):
        return None


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()
