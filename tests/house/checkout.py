"""A copy of this project's files as a fresh checkout has them, and programs run in it."""

import importlib.util
import os
import shutil
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pages

SCRIPTS = Path(sys.executable).parent
UNTRACKED = shutil.ignore_patterns(
    ".git", ".venv", "build", "dist", ".*_cache", ".hypothesis", "__pycache__", "*.egg-info", "sevenppb-demo"
)


def copy(folder: Path) -> Path:
    """Copies the files over what is in the folder, if there is anything."""
    return shutil.copytree(pages.ROOT, folder, ignore=UNTRACKED, dirs_exist_ok=True)


def loaded(path: Path) -> ModuleType:
    """A script as a module."""
    found = importlib.util.spec_from_file_location(path.stem, path)
    assert found is not None
    assert found.loader is not None
    module = importlib.util.module_from_spec(found)
    found.loader.exec_module(module)
    return module


def run(words: list[str], folder: Path, **surroundings: str) -> str:
    """What a program prints that ends well; of the surroundings, coverage of these tests is left out."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith("COVERAGE_")}
    done = subprocess.run(
        words,
        cwd=folder,
        env=kept | {"COLUMNS": "200", "OPENBLAS_NUM_THREADS": "1"} | surroundings,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, (words, done.stdout[-800:], done.stderr[-1600:])
    return done.stdout
