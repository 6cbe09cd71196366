"""Small changes to code: which there are, and that a test that looks notices them."""

import importlib
import os
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest

from benchmarks import mutants

DRIVEN = """
import sys
from benchmarks import mutants
mutants.SLOW = ("pytest",)
mutants.NEAREST = {"detect/drift": (sys.argv[1],)}
sys.exit(mutants.main(["detect/drift/cusum.py", "--sample", "1"]))
"""


def said(text: str) -> list[str]:
    return [one.said for one in mutants.mutants(Path("x.py"), text)]


@pytest.mark.parametrize(
    ("text", "changes"),
    [
        ("a < b", ["a < b  →  a >= b", "a < b  →  a <= b"]),
        ("a + b", ["a + b  →  a - b"]),
        ("a += b", ["a += b  →  a -= b"]),
        ("a and not b", ["a and (not b)  →  a or not b", "not b  →  b"]),
        ("f(3, 0.5, True)", ["3  →  4", "0.5  →  1.0", "True  →  False"]),
        ("np.maximum(a, b)", ["np.maximum  →  np.minimum"]),
        ("def f(x: int = 1) -> int | None:\n    return x", ["1  →  2", "return x  →  return None"]),
        ("def f():\n    return None", []),
        ("raise ValueError(f'{a + b}')", []),
        ("'words'", []),
    ],
)
def test_every_small_change_of_a_text(text: str, changes: list[str]) -> None:
    assert said(text) == changes


def test_a_changed_module_is_loaded_in_place_of_its_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "made_up_for_a_change.py"
    file.write_text("def more(x):\n    return x + 1\n", encoding="utf-8")
    first = mutants.mutants(file, file.read_text(encoding="utf-8"))[1]
    first.place.put(first.new)
    monkeypatch.setattr(sys, "meta_path", [mutants._Changed(file.stem, file, first.tree), *sys.meta_path])
    assert importlib.import_module(file.stem).more(3) == 2
    assert file.read_text(encoding="utf-8") == "def more(x):\n    return x + 1\n"


@pytest.mark.skipif(os.name == "nt", reason="forks")
@pytest.mark.parametrize(
    ("looks", "status", "told"),
    [
        (
            "cusum.one_sided(np.array([2.0, 1.0, -9.0, 3.0]), 0.5).tolist() == [1.5, 2.0, 0.0, 2.5]",
            0,
            "| 1 | 1 | 0 |",
        ),
        ("cusum is not None", 0, "| 1 | 0 | 1 |"),
        ("cusum is None", 1, "without any change"),
    ],
)
def test_what_no_test_looks_at_survives(looks: str, status: int, told: str, tmp_path: Path) -> None:
    test = tmp_path / "test_made.py"
    test.write_text(
        f"import numpy as np\nfrom sevenppb.detect.drift import cusum\ndef test_it(): assert {looks}\n",
        encoding="utf-8",
    )
    done = subprocess.run(
        [sys.executable, "-c", DRIVEN, str(test)],
        cwd=mutants.ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == status, done.stderr
    assert told in done.stdout + done.stderr


def test_what_runs_for_ever_was_noticed() -> None:
    ends = {("a.py", mutants.KILLED): 3, ("a.py", mutants.TIMED_OUT): 1, ("b.py", mutants.SURVIVED): 2}
    rows = mutants.table(Counter(ends)).splitlines()[2:]
    assert rows == ["| `a.py` | 4 | 4 | 0 |", "| `b.py` | 2 | 0 | 2 |", "| all | 6 | 4 | 2 |"]


def test_every_file_has_tests_that_exist() -> None:
    for folder, tests in mutants.NEAREST.items():
        assert all((mutants.ROOT / test).exists() for test in tests)
        assert {mutants.nearest(file) for file in mutants.files([folder])} == {tests}
        own = (mutants.ROOT / "tests" / folder).glob("test_*.py")
        asked = [test for test in tests if f"tests/{folder}/" in test]
        assert f"tests/{folder}" in tests or {path.name for path in own} == {
            Path(test).name for test in asked
        }
