"""The small corpus that benchmarks/fuzz.py starts from, and what it found: all of it is read or told."""

import importlib.util
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[3]
FILES = sorted((ROOT / "tests" / "corpus").glob("*/*"))
_spec = importlib.util.spec_from_file_location("fuzz", ROOT / "benchmarks" / "fuzz.py")
assert _spec
assert _spec.loader
fuzz = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(fuzz)


CASES = [
    (what, path) for what, (_, folder) in fuzz.TARGETS.items() for path in FILES if path.parent.name == folder
]


@pytest.mark.parametrize(("what", "path"), CASES, ids=lambda case: getattr(case, "name", case))
def test_the_corpus_is_read_or_told(what: str, path: Path) -> None:
    target, _ = fuzz.TARGETS[what]
    target(path.read_bytes())


def test_there_is_a_corpus() -> None:
    assert {path.parent.name for path in FILES} == {folder for _, folder in fuzz.TARGETS.values()}
