"""The code with the change that a page shows, in a folder of its own."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pages


def copy(page: str, folder: Path) -> Path:
    """A copy of the installed folders, with the page's change applied."""
    place = folder / "sevenppb"
    for tree in ("detect", "reports", "synthetic"):
        shutil.copytree(pages.ROOT / tree, place / tree, ignore=shutil.ignore_patterns("__pycache__"))
    (block,) = pages.blocks(pages.ROOT / "docs" / page, "diff")
    subprocess.run(
        ["git", "apply", "--recount", "-"], input=block.text, text=True, cwd=place, check=True,
        env={**os.environ, "GIT_CEILING_DIRECTORIES": str(folder)},
    )  # fmt: skip
    return place


def asked(place: Path, code: str, *words: str) -> str:
    """What a program prints that runs on the changed code, from the folder around it."""
    return subprocess.run(
        [sys.executable, "-c", code, *words], cwd=place.parent, capture_output=True, text=True, check=True,
        env={**os.environ, "PYTHONPATH": str(place.parent)},
    ).stdout  # fmt: skip
