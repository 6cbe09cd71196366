"""What a fresh checkout stands on: the start script, the pins, the list of packages."""

import importlib.util
import re
import subprocess
import sys
import tomllib
from pathlib import Path
from types import ModuleType

import pytest
from packaging.requirements import Requirement

ROOT = Path(__file__).parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
PINS = (ROOT / "constraints.txt").read_text(encoding="utf-8").splitlines()


@pytest.fixture
def start() -> ModuleType:
    spec = importlib.util.spec_from_file_location("start", ROOT / "start.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_every_folder_of_code_is_installed() -> None:
    folders = {
        "sevenppb." + ".".join(path.parent.relative_to(ROOT).parts)
        for top in ("detect", "synthetic", "reports")
        for path in (ROOT / top).rglob("__init__.py")
    }
    assert set(PROJECT["tool"]["setuptools"]["packages"]) == folders


def test_pins_are_names_and_versions_within_the_projects_ranges() -> None:
    pins = dict(line.split("==") for line in PINS)
    assert all(re.fullmatch(r"[A-Za-z0-9_.-]+==[\w.]+", line) for line in PINS)
    normal = {re.sub(r"[-_.]+", "-", name).lower(): version for name, version in pins.items()}
    needed = PROJECT["project"]["dependencies"] + PROJECT["project"]["optional-dependencies"]["test"]
    for requirement in map(Requirement, needed):
        assert requirement.specifier.contains(normal[requirement.name.lower()]), requirement


def test_an_old_python_is_told_what_is_needed(
    start: ModuleType, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "version_info", (3, 10, 4))
    with pytest.raises(SystemExit) as stopped:
        start.main(["demo"])
    assert stopped.value.code == 2
    assert "sevenppb needs Python 3.11 or later" in capsys.readouterr().err


def test_without_a_known_word_the_two_uses_are_shown() -> None:
    shown = subprocess.run(
        [sys.executable, str(ROOT / "start.py"), "tset"], capture_output=True, text=True, check=False
    )
    assert shown.returncode == 2
    assert "start.py demo" in shown.stderr
    assert "start.py test" in shown.stderr


def test_a_failing_installation_points_to_the_pins(
    start: ModuleType,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    tmp_path: Path,
) -> None:
    monkeypatch.setattr(start, "VENV", tmp_path)
    monkeypatch.setattr(start, "make_environment", lambda: None)
    monkeypatch.setattr(start, "run", lambda words: 1)
    with pytest.raises(SystemExit):
        start.install("demo", ["."])
    assert "constraints.txt pins what this Python can't have" in capsys.readouterr().err
    assert not (tmp_path / "installed").exists()


def test_an_installation_is_repeated_only_when_its_sources_change(
    start: ModuleType, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    for name in ("pyproject.toml", "constraints.txt", "detect/a.py"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text("1", encoding="utf-8")
    (tmp_path / ".venv").mkdir()
    runs: list[list[str]] = []
    monkeypatch.setattr(start, "ROOT", tmp_path)
    monkeypatch.setattr(start, "VENV", tmp_path / ".venv")
    monkeypatch.setattr(start, "make_environment", lambda: None)
    monkeypatch.setattr(start, "run", lambda words: runs.append(words) or 0)

    start.install("demo", ["."])
    start.install("demo", ["."])
    assert len(runs) == 1
    (tmp_path / "detect" / "a.py").write_text("2", encoding="utf-8")
    start.install("demo", ["."])
    assert len(runs) == 2
    start.install("test", ["-e", "."])
    (tmp_path / "detect" / "a.py").write_text("3", encoding="utf-8")
    start.install("test", ["-e", "."])  # an editable installation follows its sources
    assert len(runs) == 3
