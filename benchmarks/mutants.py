"""Would a test notice? Small changes to the statistics and the diagnosis, one at a time, each met by the nearest tests.

python -m benchmarks.mutants                                      150 drawn from detect/drift and detect/diagnosis
python -m benchmarks.mutants detect/drift/cusum.py --sample 0     every change of one file

No file is touched: each change lives in a forked process that compiles it in the place of the module (Linux, macOS).
A change that no test notices is a hole in the tests, or makes no difference; which one, only a reader can tell.
"""

import argparse
import ast
import importlib
import importlib.util
import os
import random
import signal
import sys
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from importlib.abc import MetaPathFinder
from importlib.machinery import ModuleSpec, SourceFileLoader
from pathlib import Path
from types import CodeType, ModuleType

ROOT = Path(__file__).parents[1]
# the tests that stand nearest to a folder, quick ones first: the first failure ends a change
NEAREST = {
    "detect/drift": (
        "tests/detect/drift",
        "tests/published/test_control_charts.py",
        "tests/published/test_trends_and_changes.py",
    ),
    "detect/diagnosis": (
        "tests/detect/diagnosis/test_change_of_residuals.py",
        "tests/detect/diagnosis/test_alarms_in_turn.py",
        "tests/detect/diagnosis/test_remaining.py",
        "tests/detect/diagnosis/test_unseen_season.py",
        "tests/detect/diagnosis/test_signatures.py",
        "tests/detect/diagnosis/test_likelihood.py",
        "tests/detect/diagnosis/test_sizes_told.py",
        "tests/detect/diagnosis/test_smallest_visible.py",
        "tests/detect/diagnosis/test_priors.py",
        "tests/detect/diagnosis/test_pairs.py",
        "tests/detect/diagnosis/test_own_reading.py",
        "tests/detect/diagnosis/test_own_evidence.py",
        "tests/detect/diagnosis/test_coverage.py",
        "tests/detect/test_steps.py",
    ),
}
# imported once, before the forks: most of a test run's time is theirs
SLOW = ("pytest", "pandas", "scipy.signal", "scipy.stats", "statsmodels.tsa.api", "iapws")
KILLED, SURVIVED, TIMED_OUT = "killed", "survived", "timed out"

SWAPPED: dict[type[ast.AST], type[ast.AST]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult, ast.Pow: ast.Mult, ast.BitAnd: ast.BitOr, ast.BitOr: ast.BitAnd,
    ast.And: ast.Or, ast.Or: ast.And,
    ast.Eq: ast.NotEq, ast.NotEq: ast.Eq, ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
    ast.Lt: ast.GtE, ast.GtE: ast.Lt, ast.Gt: ast.LtE, ast.LtE: ast.Gt,
}  # fmt: skip
AT_THE_EDGE: dict[type[ast.AST], type[ast.AST]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt
}  # fmt: skip
OPPOSITES = {"min": "max", "minimum": "maximum", "fmin": "fmax", "argmin": "argmax", "any": "all"}
OPPOSITES |= {other: name for name, other in OPPOSITES.items()}
UNSEEN = ("annotation", "returns", "decorator_list")  # fields that do nothing at run time


@dataclass(frozen=True)
class Place:
    """Where a node hangs: in `field` of `parent`, at `index` where that is a list."""

    parent: ast.AST
    field: str
    index: int | None

    def put(self, node: ast.AST) -> None:
        if self.index is None:
            setattr(self.parent, self.field, node)
        else:
            getattr(self.parent, self.field)[self.index] = node


@dataclass(frozen=True)
class Mutant:
    """One change: `new` at `place` of the file's `tree`, and what it says at which line."""

    file: Path
    tree: ast.Module
    place: Place
    new: ast.AST
    line: int
    said: str


def mutants(file: Path, text: str) -> list[Mutant]:
    """Every change of a file, in the order of its text."""
    tree = ast.parse(text)
    return [
        Mutant(file, tree, place, new, node.lineno, f"{ast.unparse(node)}  →  {ast.unparse(new)}")
        for place, node in _nodes(tree)
        for new in _changes(node)
    ]


def _nodes(parent: ast.AST) -> Iterator[tuple[Place, ast.AST]]:
    for field, value in ast.iter_fields(parent):
        if field in UNSEEN or isinstance(parent, ast.Raise | ast.JoinedStr):
            continue
        for index, node in enumerate(value) if isinstance(value, list) else [(None, value)]:
            if isinstance(node, ast.AST):
                yield Place(parent, field, index), node
                yield from _nodes(node)


def _changes(node: ast.AST) -> Iterator[ast.AST]:
    match node:
        case ast.Compare(left=left, ops=[op], comparators=right):
            for table in (SWAPPED, AT_THE_EDGE):
                if type(op) in table:
                    yield ast.Compare(left, [table[type(op)]()], right)
        case ast.BinOp(left=left, op=op, right=other) if type(op) in SWAPPED:
            yield ast.BinOp(left, SWAPPED[type(op)](), other)
        case ast.AugAssign(target=target, op=op, value=value) if type(op) in SWAPPED:
            yield ast.AugAssign(target, SWAPPED[type(op)](), value)
        case ast.BoolOp(op=op, values=values):
            yield ast.BoolOp(SWAPPED[type(op)](), values)
        case ast.UnaryOp(operand=operand):
            yield operand
        case ast.Constant(value=bool() | int() | float() as value):
            yield ast.Constant(_other(value))
        case ast.Return(value=ast.expr() as value) if ast.unparse(value) != "None":
            yield ast.Return(ast.Constant(None))
        case ast.Name(id=name) if name in OPPOSITES:
            yield ast.Name(OPPOSITES[name], node.ctx)
        case ast.Attribute(value=value, attr=name) if name in OPPOSITES:
            yield ast.Attribute(value, OPPOSITES[name], node.ctx)


def _other(value: float) -> float:
    if isinstance(value, bool):
        return not value
    return value + 1 if isinstance(value, int) else 2.0 * value or 1.0


class _Changed(SourceFileLoader, MetaPathFinder):
    """Loads one module from a changed tree, and leaves all others to whom they belong."""

    def __init__(self, name: str, file: Path, tree: ast.Module) -> None:
        super().__init__(name, str(file))
        self.code = compile(ast.fix_missing_locations(tree), str(file), "exec")

    def find_spec(
        self, name: str, path: object = None, target: ModuleType | None = None
    ) -> ModuleSpec | None:
        return (
            importlib.util.spec_from_file_location(name, self.path, loader=self)
            if name == self.name
            else None
        )

    def get_code(self, fullname: str) -> CodeType:
        return self.code


def met(mutant: Mutant | None, tests: Sequence[str], limit: int) -> str:
    """What the tests [pytest's arguments] make of it, or of the code as it stands, within `limit` seconds."""
    child = os.fork()
    if child == 0:
        signal.alarm(limit)
        os._exit(_tried(mutant, tests))
    _, status = os.waitpid(child, 0)
    if os.WIFSIGNALED(status):
        return TIMED_OUT if os.WTERMSIG(status) == signal.SIGALRM else KILLED
    return SURVIVED if os.WEXITSTATUS(status) == 0 else KILLED


def _tried(mutant: Mutant | None, tests: Sequence[str]) -> int:
    """pytest's status with the change in place, in silence; anything but 0 is a change that was noticed."""
    import pytest

    silence = os.open(os.devnull, os.O_WRONLY)
    os.dup2(silence, 1)
    os.dup2(silence, 2)
    try:
        if mutant is not None:
            mutant.place.put(mutant.new)
            module = ".".join(("sevenppb", *mutant.file.relative_to(ROOT).with_suffix("").parts))
            sys.meta_path.insert(0, _Changed(module, mutant.file, mutant.tree))
        return int(pytest.main(["-x", "-q", "-p", "no:cacheprovider", "-p", "no:xdist", *tests]))
    except BaseException:
        return 1


def nearest(file: Path) -> tuple[str, ...]:
    """The tests that are asked about a file."""
    return NEAREST[file.parent.relative_to(ROOT).as_posix()]


def files(words: Sequence[str]) -> list[Path]:
    """The files named, and those in the folders named, that hold code."""
    found = [ROOT / word for word in words]
    every = [file for path in found for file in (sorted(path.glob("*.py")) if path.is_dir() else [path])]
    return [file for file in every if file.stat().st_size]


def main(words: Sequence[str]) -> int:
    parser = argparse.ArgumentParser(
        "python -m benchmarks.mutants",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("files", nargs="*", default=sorted(NEAREST), help="files or folders of detect")
    parser.add_argument("--sample", type=int, default=150, help="changes drawn; 0: all")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--limit", type=int, default=180, help="seconds for the tests of one change")
    given = parser.parse_args(words)
    os.chdir(ROOT)
    os.environ["OPENBLAS_NUM_THREADS"] = "1"  # threads do not outlive a fork
    for name in SLOW:
        importlib.import_module(name)
    chosen = [one for file in files(given.files) for one in mutants(file, file.read_text(encoding="utf-8"))]
    if given.sample:
        drawn = random.Random(given.seed).sample(range(len(chosen)), min(given.sample, len(chosen)))
        chosen = [chosen[i] for i in sorted(drawn)]
    for tests in {nearest(one.file) for one in chosen}:
        if met(None, tests, given.limit) != SURVIVED:
            print("fails, or takes longer than --limit, without any change:", *tests, file=sys.stderr)
            return 1
    begun, told = time.monotonic(), Counter[tuple[str, str]]()
    for one in chosen:
        name, end = one.file.relative_to(ROOT).as_posix(), met(one, nearest(one.file), given.limit)
        told[name, end] += 1
        if end != KILLED:
            print(f"{end}: {name}:{one.line}  {one.said}", flush=True)
    print(table(told), f"{(time.monotonic() - begun) / 60:.0f} minutes", sep="\n")
    return 0


def table(told: Counter[tuple[str, str]]) -> str:
    """Of counts by file and end: a row a file, and their sum. What takes for ever was noticed too."""
    rows = ["| file | changes | noticed | survived |", "| --- | --- | --- | --- |"]
    for name in [*sorted({name for name, _ in told}), ""]:
        survived, every = (
            sum(n for (file, end), n in told.items() if name in ("", file) and end in ends)
            for ends in ((SURVIVED,), (KILLED, SURVIVED, TIMED_OUT))
        )
        rows.append(f"| {f'`{name}`' if name else 'all'} | {every} | {every - survived} | {survived} |")
    return "\n".join(rows)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
