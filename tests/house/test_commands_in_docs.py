"""The commands of sevenppb in the pages run: the tutorial's on a demo of one vessel, all others on a small made-up
export. amounts.py says how much less they do here."""

import glob
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import Any

import amounts
import click
import made_export
import pages
import pytest
from click.testing import CliRunner, Result

from sevenppb.detect import fleet_scan
from sevenppb.detect.fleet import read_fleet
from sevenppb.reports.cli import app
from sevenppb.synthetic import demo

OWN = pages.ROOT / "docs" / "your-own-export.md"
FLEET = next(block.text for block in pages.blocks(OWN, "toml") if "[fleet]" in block.text)
HELP = app.main.context_settings  # a command keeps the names of its help's option from its first use
EVERY = [words for page in pages.PAGES for block in pages.blocks(page) for words in pages.commands(block)]
CONSOLES = [block for page in pages.DOCS for block in pages.blocks(page, "console")]
TOLD = [words for block in CONSOLES for words in pages.commands(block)]  # run page by page
SAID = [[*words[1:]] for words in pages.WRITTEN if words[0] == "sevenppb" and len(words) > 2]
OTHERS = sorted({tuple(words) for words in EVERY + SAID if len(words) > 1 and words not in TOLD})
# what a page makes up for its examples → what there is on the small export, which ends in July
THERE = {"DA-1/2025-002": "DA-1/2025-001", "2025-09-15": "2025-06-16"}
FRAGMENTS = [block for page in pages.DOCS for block in pages.blocks(page, "toml")]


@pytest.fixture(scope="module")
def export(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("export") / "da1-2025.csv"
    made_export.write(path)
    return path


@pytest.fixture(scope="module")
def scans() -> dict[object, Any]:
    """Scans done so far: pages repeat commands."""
    return {}


@pytest.fixture
def plant(export: Path, scans: dict[object, Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder as the pages describe it, with one's own export and fleet file."""
    (tmp_path / "exports").mkdir()
    (tmp_path / "exports" / export.name).write_bytes(export.read_bytes())
    (tmp_path / "fleet.toml").write_text(FLEET, encoding="utf-8")
    real = fleet_scan.scan

    def once(fleet: Any, **asked: Any) -> Any:
        parts = ("since", "until", "vessels", "workers", "cluster")
        key = (fleet.name, *(asked[part] for part in parts))
        if key not in scans:
            scans[key] = real(fleet, **asked)
        return scans[key]

    monkeypatch.setattr(fleet_scan, "scan", once)
    monkeypatch.setattr(demo, "SCENES", [one for one in demo.SCENES if one.id == amounts.DEMO_VESSEL])
    monkeypatch.setattr(demo, "write_demo", partial(demo.write_demo, **amounts.DEMO_SIZE))
    monkeypatch.chdir(tmp_path)
    return tmp_path


def run(words: Sequence[str]) -> Result:
    words = amounts.smaller(("sevenppb", *words))[1:]
    expanded = [name for word in words for name in (sorted(glob.glob(word)) if "*" in word else [word])]
    return CliRunner().invoke(app.main, expanded, catch_exceptions=False)


@pytest.mark.parametrize("words", EVERY, ids=lambda words: " ".join(words)[:60])
def test_commands_in_the_pages_parse(words: list[str]) -> None:
    name, *rest = words
    context = app.main.commands[name].make_context(name, rest, parent=click.Context(app.main, **HELP))
    assert context.command.name == name


def test_a_command_that_is_none_would_be_seen() -> None:
    block = pages.Block(
        "", "bash", 'sevenppb scan fleet.toml --fail-on "urgency>=0.5" >> a.log && echo done\n'
    )
    assert pages.commands(block) == [["scan", "fleet.toml", "--fail-on", "urgency>=0.5"]]
    with pytest.raises(Exception, match="No such option"):
        app.main.commands["scan"].make_context(
            "scan", ["fleet.toml", "--soon"], parent=click.Context(app.main, **HELP)
        )


@pytest.mark.parametrize("page", pages.DOCS, ids=lambda page: page.name)
def test_console_blocks_run(page: Path, plant: Path) -> None:
    listed = [words for block in pages.blocks(page, "console") for words in pages.commands(block)]
    for words in listed:
        if words[0] == "draft":
            (plant / "fleet.toml").unlink()
        result = run(words)
        assert result.exit_code == 0, (words, result.output)
        if words[0] == "draft":
            (plant / "fleet.toml").write_text(FLEET, encoding="utf-8")


@pytest.mark.parametrize("words", OTHERS, ids=lambda words: " ".join(words)[:60])
def test_other_commands_run(words: tuple[str, ...], plant: Path, request: pytest.FixtureRequest) -> None:
    if words[0] == "draft":
        (plant / "fleet.toml").unlink()
    elif words[0] in ("note", "close"):
        run(["scan", "fleet.toml"])
    given = [THERE.get(word, word) for word in words]
    if "--cluster" in words:
        given[-1] = request.getfixturevalue("cluster_of_two")[0]
    result = run(given)
    assert result.exit_code == 0, result.output


def test_the_registers_history_is_told_as_its_page_says(
    plant: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    page = pages.ROOT / "docs" / "register.md"
    for block in pages.blocks(page, "console"):
        for words in pages.commands(block):
            run(words)
    (block,) = pages.blocks(page, "python")
    exec(compile(block.text, page.name, "exec"), {})
    assert capsys.readouterr().out.startswith("DA-1/2025-001 closed [(")


def test_your_own_export_shows_what_is_written_and_said(plant: Path) -> None:
    head, drafted, said = (block.text for block in pages.blocks(OWN, "text"))
    assert (plant / "exports" / "da1-2025.csv").read_text(encoding="utf-8").startswith(head)
    (plant / "fleet.toml").unlink()
    run(["draft", "exports/da1-2025.csv"])
    lines = (plant / "fleet.toml").read_text(encoding="utf-8").splitlines()
    assert [line for line in drafted.splitlines() if line not in lines] == []
    (plant / "fleet.toml").write_text(FLEET, encoding="utf-8")
    assert said in run(["scan", "fleet.toml"]).stdout


def test_files_of_a_scan_stand_in_the_pages(plant: Path) -> None:
    page = (pages.ROOT / "docs" / "file-formats.md").read_text(encoding="utf-8")
    for command in ("scan", "compare", "digest"):
        run([command, "fleet.toml"])
        written = [path.name for path in (plant / command).iterdir()]
        assert written
        assert [name for name in written if f"`{name}`" not in page] == []


def whole(text: str) -> str:
    """A fleet file; of a part of one, the pages' own with it added."""
    return text if "[fleet]" in text else FLEET + text


@pytest.mark.parametrize("block", FRAGMENTS, ids=lambda block: block.page)
def test_fleet_files_in_the_pages_are_valid(block: pages.Block, tmp_path: Path) -> None:
    path = tmp_path / "fleet.toml"
    path.write_text(whole(block.text), encoding="utf-8")
    fleet = read_fleet(path)
    assert len(fleet.vessels[0].work) == block.text.count("[[vessel.work]]")


def test_a_wrong_fleet_file_would_be_seen(tmp_path: Path) -> None:
    path = tmp_path / "fleet.toml"
    path.write_text(whole("").replace("kPa gauge", "kPa"), encoding="utf-8")
    with pytest.raises(Exception, match="gauge or abs"):
        read_fleet(path)
