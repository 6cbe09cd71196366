"""From a fresh checkout to a running sevenppb, with nothing but Python 3.11 or later.

    python3 start.py demo [--out DIR]     install into .venv and run the demo
    python3 start.py test [PYTEST ARGS]   install for development and run every check

On Windows write `py` for `python3`. Only the standard library is used here, in words that Python 3.7 can
read too, so that an old one can say what it lacks.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import NoReturn

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
FOLDERS = ("detect", "synthetic", "reports")
OLDEST = (3, 11)
CHECKS = (
    ("ruff", "check", "."),
    ("ruff", "format", "--check", "."),
    ("mypy",),
    ("lint-imports",),
)


def main(arguments: list[str]) -> int:
    if sys.version_info < OLDEST:
        stop(
            f"sevenppb needs Python 3.11 or later, and this is {sys.version.split()[0]}: "
            "run start.py with a newer one."
        )
    if not arguments or arguments[0] not in ("demo", "test"):
        stop(__doc__.strip())
    if arguments[0] == "demo":
        install("demo", ["."])
        return run([program("sevenppb"), *arguments], Path.cwd())
    install("test", ["-e", ".[test]"])
    make_typed_tree()
    checks = [*CHECKS, ("pytest", "-n", "logical", *arguments[1:])]
    failed = [check for check in checks if run([program(check[0]), *check[1:]]) != 0]
    for check in failed:
        print("failed:", *check, file=sys.stderr)
    return 1 if failed else 0


def install(kind: str, what: list[str]) -> None:
    """Make .venv and install into it, unless the stamp says that nothing has changed since."""
    stamp = VENV / "installed"
    state = fingerprint(kind)
    if stamp.exists() and stamp.read_text(encoding="utf-8") == state:
        return
    make_environment()
    print("Installing into .venv; the first time takes a few minutes.", file=sys.stderr, flush=True)
    stamp.unlink(missing_ok=True)
    pip = [program("python"), "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    if run([*pip, "-c", "constraints.txt", *what]) != 0:
        stop(
            "The installation failed; pip's reason stands above. Where it speaks of a conflict or of a "
            "missing version, constraints.txt pins what this Python can't have; to try without the pins:\n  "
            + " ".join([*pip, *what])
        )
    stamp.write_text(state, encoding="utf-8")


def fingerprint(kind: str) -> str:
    """What the installation is made from. A copy, unlike an editable installation, ages with every file."""
    paths = [ROOT / "pyproject.toml", ROOT / "constraints.txt"]
    if kind == "demo":
        paths += [path for folder in FOLDERS for path in (ROOT / folder).rglob("*") if path.is_file()]
    digest = hashlib.sha256(f"{kind} {sys.version}".encode())
    for path in sorted(path for path in paths if path.suffix != ".pyc"):
        digest.update(str(path).encode() + path.read_bytes())
    return digest.hexdigest()


def make_environment() -> None:
    if Path(program("python")).exists():
        return
    try:
        import venv

        venv.EnvBuilder(with_pip=True, clear=True).create(VENV)
    except (ImportError, subprocess.CalledProcessError, OSError) as error:
        shutil.rmtree(VENV, ignore_errors=True)
        stop(
            f"Can't make a virtual environment in .venv ({error}). On Debian and Ubuntu install "
            "python3-venv; otherwise check that this folder can be written to."
        )


def make_typed_tree() -> None:
    """mypy can't follow an import hook: show it the folders under the name that they are installed by."""
    tree = ROOT / "build" / "typed" / "sevenppb"
    tree.mkdir(parents=True, exist_ok=True)
    for folder in FOLDERS:
        place = tree / folder
        if place.is_symlink():
            continue
        shutil.rmtree(place, ignore_errors=True)
        try:
            place.symlink_to(ROOT / folder, target_is_directory=True)
        except OSError:  # Windows allows links to administrators and developers only
            shutil.copytree(ROOT / folder, place)


def program(name: str) -> str:
    """The path of a program of the environment."""
    return str(VENV / "Scripts" / f"{name}.exe" if os.name == "nt" else VENV / "bin" / name)


def run(words: list[str], folder: Path = ROOT) -> int:
    try:
        return subprocess.call(words, cwd=folder)
    except OSError as error:
        stop(f"Can't run {words[0]} ({error.strerror}). Delete the folder .venv and try again.")
    except KeyboardInterrupt:
        return 130


def stop(sentence: str) -> NoReturn:
    print(sentence, file=sys.stderr)
    sys.exit(2)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
