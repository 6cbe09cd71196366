"""From a clone to the report and to the checks, by the commands that the pages show.

Nothing is fetched: what sevenppb stands on is lent by the environment of these tests, so that pip installs sevenppb
alone, of which the demo is made smaller before. `start.py test` and `.ci/run` end in programs that only say
how they were called: the checks themselves run in test_every_command.py, and the tests are running.
"""

import importlib.metadata
import os
import re
import shlex
import sysconfig
from pathlib import Path

import amounts
import checkout
import pages
import pytest

pytestmark = [
    pytest.mark.skipif(os.name == "nt", reason="needs a Unix shell"),
    pytest.mark.skipif(not (pages.ROOT / ".git").exists(), reason="these files are no repository"),
]
OFFLINE = {
    "PIP_NO_INDEX": "1",
    "PIP_NO_BUILD_ISOLATION": "0",  # pip's spelling of "yes": of this option it takes what it is set to
    "PIP_DISABLE_PIP_VERSION_CHECK": "1",
}
BLOCKS = re.findall(r"(?:^    .*\n)+", (pages.ROOT / "README.md").read_text(encoding="utf-8"), re.MULTILINE)
CLONE, _WINDOWS, BY_HAND = (block.replace("    ", "").splitlines() for block in BLOCKS)
CHECKS = [
    "ruff check .",
    "ruff format --check .",
    "mypy",
    "lint-imports",
    "pytest -n logical",
]


def shell(line: str, folder: Path) -> str:
    """What a line prints, typed into a shell, with what is lent to it beside the folder."""
    return checkout.run(["bash", "-c", line], folder, **OFFLINE, PYTHONPATH=str(folder.parent / "lent"))


@pytest.fixture(scope="module")
def clone(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What the page's first line makes, with what has not been committed yet, and with less of a demo."""
    place = tmp_path_factory.mktemp("clone")
    first = CLONE[0].replace("<this repository>", f"--quiet {shlex.quote(str(pages.ROOT))}")
    (place / "lent").mkdir()
    for kind in {sysconfig.get_path("purelib"), sysconfig.get_path("platlib")}:
        for path in Path(kind).iterdir():
            if "sevenppb" not in path.name:
                (place / "lent" / path.name).symlink_to(path)
    made = Path(shell(f"{first} && pwd", place).strip())
    assert made == place / "sevenppb"
    checkout.copy(made)
    with (made / "synthetic" / "demo.py").open("a", encoding="utf-8") as file:
        file.write(f"\n\nSCENES = tuple(one for one in SCENES if one.id == {amounts.DEMO_VESSEL!r})\n")
        file.write(f"write_demo.__defaults__ = {tuple(amounts.DEMO_SIZE.values())}\n")
    pins = [line.partition("==")[0] for line in (made / "constraints.txt").read_text().splitlines()]
    here = {normal(one.name): one.version for one in importlib.metadata.distributions()}
    same = [f"{name}=={here[normal(name)]}" for name in pins if normal(name) in here]
    (made / "constraints.txt").write_text("\n".join(same) + "\n", encoding="utf-8")
    return made


def normal(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def test_by_hand_then_by_the_script_to_the_report_and_to_the_checks(clone: Path) -> None:
    *installing, demo = BY_HAND
    for line in installing:
        shell(line, clone)
    known = shell("source .venv/bin/activate && command -v sevenppb", clone)
    assert known.strip() == str(clone / ".venv" / "bin" / "sevenppb")
    assert demo == ".venv/bin/sevenppb demo"  # which the script runs

    said = shell(CLONE[1], clone)
    assert "1 vessel scanned; 1 incident found" in said
    assert f"{amounts.DEMO_VESSEL}, choked vent" in said
    report = clone / "sevenppb-demo" / "scan" / "scan.html"
    assert str(report) in said
    assert report.exists()

    for name in ("ruff", "mypy", "lint-imports", "pytest"):
        program = clone / ".venv" / "bin" / name
        program.write_text(f'#!/bin/sh\necho {name} "$@"\n', encoding="utf-8")
        program.chmod(0o755)
    written = [words for words in pages.WRITTEN if words[:3] == ("python", "start.py", "test")]
    assert len(written) == 2
    for words in written:
        said = shell(" ".join(("python3", *words[1:])), clone)
        assert said.splitlines() == [*CHECKS[:-1], " ".join((CHECKS[-1], *words[3:]))]
    assert (clone / "build" / "typed" / "sevenppb" / "detect").is_symlink()
    where = "import sevenppb.detect as d; print(d.__file__)"
    assert str(clone / "detect") in shell(f".venv/bin/python -c {where!r}", clone)  # editable
    assert shell(".ci/run", clone).splitlines() == CHECKS

    more = [words[1:] for words in pages.WRITTEN if words[0] == "pip"]
    assert len(more) == 2
    for words in more:
        line = shlex.join([".venv/bin/python", "-m", "pip", *words, "--dry-run", "--no-deps"])
        assert "does not provide the extra" not in shell(f"{line} 2>&1", clone)
    checkout.run([str(checkout.SCRIPTS / "pre-commit"), "install"], clone)
    assert (clone / ".git" / "hooks" / "pre-commit").exists()


def test_all_that_installs_is_run_here() -> None:
    shown = {
        " ".join(words)
        for words in pages.WRITTEN
        if words[0] in ("cd", "git", "source", "pip", "pre-commit")
        or words[1:2] == ("start.py",)
        or words[:3] in (("python", "-m", "pip"), ("python", "-m", "venv"))
    }
    assert shown == {
        "cd sevenppb", "git clone", "source .venv/bin/activate", "pip install -e .[bench]",
        "pip install sevenppb[cluster]", "pre-commit install", "python start.py demo", "python start.py test",
        "python start.py test -k drift", "python -m venv .venv", "python -m pip install -c constraints.txt .",
    }  # fmt: skip
