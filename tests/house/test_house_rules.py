"""Rules of the house that a machine can hold: imports run one way, everything is installed, plain words."""

import ast
import importlib.util
import re
import sys
import tomllib
from pathlib import Path

import pages
import pytest
import yaml
from importlinter.cli import lint_imports

PROJECT = tomllib.loads((pages.ROOT / "pyproject.toml").read_text(encoding="utf-8"))
CODE = ("detect", "synthetic", "reports")
FOLDERS = (*CODE, "tests", "benchmarks", "docs")
TEXT = {".py", ".md", ".toml", ".txt", ".yml", ".yaml", ".csv", ".json", ".j2", ".css", ".js", ".typ", ".sh"}
MOST_LINES = 400

# parts of words, put together here so that this file doesn't hold what it looks for
JOINED = (
    ("tran", "script"), ("video ", "talk"), ("co", "pilot"), ("chat", "bot"), ("language ", "model"), ("sub", "agent"),
    ("shared", "/"), ("/", "work/"), ("/", "root/"), ("/", "home/"), ("/", "tmp/"), ("pypi.", "org"), ("files.python", "hosted"),
    ("conda.", "anaconda"), ("npm", "js"),
)  # fmt: skip
NUMBERED = re.compile(r"\b(issue|ticket|pull request|PR)\s*#?\d+", re.IGNORECASE)


def texts() -> list[Path]:
    found = [path for name in FOLDERS for path in (pages.ROOT / name).rglob("*")]
    found += [path for path in pages.ROOT.iterdir() if path.is_file()]
    return sorted(
        path
        for path in found
        if path.is_file() and "__pycache__" not in path.parts and (path.suffix in TEXT or not path.suffix)
    )


def improper(text: str) -> list[str]:
    """What a text holds that no tracked file may."""
    words = ["".join(parts) for parts in JOINED]
    return [word for word in words if word in text.lower()] + [m[0] for m in NUMBERED.finditer(text)]


def test_imports_run_one_way() -> None:
    assert lint_imports(config_filename=str(pages.ROOT / "pyproject.toml"), no_cache=True, no_logo=True) == 0


def test_every_folder_of_code_is_in_a_layer() -> None:
    """A new module that no layer names could import anything."""
    contracts = PROJECT["tool"]["importlinter"]["contracts"]
    for tree in ("detect", "reports"):
        layers = next(c for c in contracts if c.get("containers") == [f"sevenppb.{tree}"])["layers"]
        named = {name.strip() for row in layers for name in row.split(":")}
        there = {path.stem for path in (pages.ROOT / tree).iterdir() if path.suffix == ".py"}
        there |= {path.parent.name for path in (pages.ROOT / tree).glob("*/__init__.py")}
        assert there - {"__init__"} <= named, tree


def test_every_folder_of_code_is_installed() -> None:
    listed = set(PROJECT["tool"]["setuptools"]["packages"])
    there = set()
    for tree in CODE:
        for path in (pages.ROOT / tree).rglob("*.py"):
            there.add(".".join(("sevenppb", *path.parent.relative_to(pages.ROOT).parts)))
    assert there == listed


def test_every_file_beside_the_code_is_installed() -> None:
    data = PROJECT["tool"]["setuptools"]["package-data"]
    for tree in CODE:
        for path in (pages.ROOT / tree).rglob("*"):
            if path.is_file() and path.suffix not in (".py", ".pyc"):
                package = ".".join(("sevenppb", *path.parent.relative_to(pages.ROOT).parts))
                assert any(path.match(pattern) for pattern in data.get(package, [])), path


def imported(path: Path) -> set[str]:
    """The top names that a module imports."""
    names = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            names.add(node.module.split(".")[0])
    return names


def test_packages_that_the_code_imports_are_declared() -> None:
    # the cluster's are imported where --cluster is given, with a sentence where they are missing
    needed = PROJECT["project"]["dependencies"] + PROJECT["project"]["optional-dependencies"]["cluster"]
    declared = {re.split(r"[>=<\[;]", row)[0].lower() for row in needed}
    # imported under another name, or a part of a declared package
    names = {"sklearn": "scikit-learn", "vl_convert": "vl-convert-python"}
    names |= {"markupsafe": "jinja2", "pydantic_core": "pydantic"}
    used = set().union(*(imported(path) for tree in CODE for path in (pages.ROOT / tree).rglob("*.py")))
    foreign = used - set(sys.stdlib_module_names) - {"sevenppb"}
    assert {names.get(name, name) for name in foreign} <= declared


@pytest.mark.parametrize("path", texts(), ids=lambda path: str(path.relative_to(pages.ROOT)))
def test_files_are_short_enough_to_read_and_speak_of_the_matter(path: Path) -> None:
    text = path.read_text(encoding="utf-8", errors="replace")
    assert improper(text) == []
    if path.suffix == ".py":
        assert text.count("\n") <= MOST_LINES


def test_what_is_improper_would_be_seen() -> None:
    for parts in JOINED:
        assert improper("see " + "".join(parts) + "x")
    assert improper("mends issue" + " #12")
    assert improper("the shell's pressure, shared by all") == []


def test_code_is_imported_by_its_installed_name_only() -> None:
    """A bare name would load a module twice."""
    for path in texts():
        if path.suffix == ".py":
            assert imported(path) & set(CODE) == set(), path


def test_the_checks_before_a_commit_are_those_of_start() -> None:
    found = importlib.util.spec_from_file_location("start", pages.ROOT / "start.py")
    assert found is not None
    assert found.loader is not None
    start = importlib.util.module_from_spec(found)
    found.loader.exec_module(start)
    hooks = yaml.safe_load((pages.ROOT / ".pre-commit-config.yaml").read_text(encoding="utf-8"))["repos"]
    assert [row["repo"] for row in hooks] == ["local"]
    assert [tuple(hook["entry"].split()) for hook in hooks[0]["hooks"]] == [
        (f".venv/bin/{program}", *words) for program, *words in start.CHECKS
    ]
    assert all(hook["language"] == "system" and not hook["pass_filenames"] for hook in hooks[0]["hooks"])


@pytest.mark.parametrize(
    "folder", sorted({path.parent for tree in CODE for path in (pages.ROOT / tree).rglob("*.py")})
)
def test_a_folder_says_what_each_of_its_files_is_for(folder: Path) -> None:
    told = ast.get_docstring(ast.parse((folder / "__init__.py").read_text(encoding="utf-8"))) or ""
    files = {path.stem for path in folder.glob("*.py")} - {"__init__"}
    if folder == pages.ROOT / "detect":  # the table of DEVELOPERS.md goes through it
        told = (pages.ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert [name for name in sorted(files) if not re.search(rf"\b{name}\b", told)] == []
