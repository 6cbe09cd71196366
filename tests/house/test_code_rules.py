"""Rules that the pages state of the code: none from data, defaults as signatures have them, small files."""

import ast
import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType

import pages
import pytest

import sevenppb.detect
import sevenppb.reports
import sevenppb.synthetic
from sevenppb.detect.settings import Settings

SOURCES = sorted(
    path for name in ("detect", "reports", "synthetic") for path in (pages.ROOT / name).rglob("*.py")
)
MOST_LINES = 400
# what runs code or programs from data, or speaks to the network
MODULES = {
    "pickle",
    "marshal",
    "shelve",
    "subprocess",
    "ctypes",
    "socket",
    "urllib",
    "http",
    "requests",
    "yaml",
}
CALLS = {"eval", "exec", "compile", "__import__"}
ATTRIBUTES = {("os", "system"), ("os", "popen"), ("pd", "read_pickle"), ("np", "load")}


def forbidden(source: str) -> list[str]:
    """What a source uses that runs code or programs from data."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found += [a.name for a in node.names if a.name.split(".")[0] in MODULES]
        elif isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] in MODULES:
            found.append(node.module or "")
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in CALLS:
            found.append(node.func.id)
        elif isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            found += [node.attr] if (node.value.id, node.attr) in ATTRIBUTES else []
    return found


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(pages.ROOT)))
def test_no_code_from_data_and_no_long_file(path: Path) -> None:
    source = path.read_text(encoding="utf-8")
    assert forbidden(source) == []
    assert source.count("\n") <= MOST_LINES


@pytest.mark.parametrize(
    "source", ["import pickle", "from subprocess import run", "eval('1')", "import os\nos.system('ls')"]
)
def test_what_is_forbidden_would_be_seen(source: str) -> None:
    assert forbidden(source)


def modules() -> Iterator[ModuleType]:
    for package in (sevenppb.detect, sevenppb.reports, sevenppb.synthetic):
        for found in pkgutil.walk_packages(package.__path__, package.__name__ + "."):
            yield importlib.import_module(found.name)


def wrong_defaults(function: Callable[..., object]) -> list[str]:
    """Parameters of which the docstring states another default than the signature."""
    wrong = []
    for name, parameter in inspect.signature(function).parameters.items():
        for said in re.findall(
            rf"\b{name}\b[^\n;.]*?\bdefaults? (?:to |is )?`?([\w.+-]+)", function.__doc__ or ""
        ):
            if parameter.default is inspect.Parameter.empty or said.rstrip(".") != str(parameter.default):
                wrong.append(f"{function.__qualname__}: {name} by default {said}")
    return wrong


def test_docstrings_state_the_signatures_defaults() -> None:
    wrong = []
    for module in modules():
        own = [
            f for _, f in inspect.getmembers(module, inspect.isfunction) if f.__module__ == module.__name__
        ]
        wrong += [sentence for function in own for sentence in wrong_defaults(function)]
    assert wrong == []


def test_a_wrong_default_would_be_seen() -> None:
    def off(block: int = 14) -> None:
        """block  days left out at a time, default 7"""

    def right(block: int = 14) -> None:
        """block  days left out at a time, default 14."""

    assert wrong_defaults(off)
    assert wrong_defaults(right) == []


def test_every_setting_has_its_sentence() -> None:
    told = re.findall(r"^ {4}(\w+) {2,}\S", Settings.__doc__ or "", re.MULTILINE)
    assert told == list(Settings.__dataclass_fields__)
