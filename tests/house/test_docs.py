"""The pages say what the code does: names, tables, links, figures and examples."""

import doctest
import importlib.util
import json
import re
import sys
from dataclasses import fields
from pathlib import Path
from types import ModuleType
from typing import Any

import jsonschema
import pages
import pytest

from sevenppb import detect
from sevenppb.detect import causes, features, fleet_shape, roles, settings, shown
from sevenppb.detect.balance import conditions, health
from sevenppb.detect.exports import timestamps
from sevenppb.detect.fleet_shape import CostShape, FileShape, FleetShape, TagShape, VesselShape, WorkShape
from sevenppb.detect.incidents import urgency
from sevenppb.detect.quality.gaps import HOLD_HOURS
from sevenppb.detect.units import STANDARD_ATMOSPHERE, VOLUME_TEMPERATURE
from sevenppb.reports import document, sheet
from sevenppb.reports.cli import app
from sevenppb.reports.views import comparison

SHAPES = (CostShape, FileShape, FleetShape, TagShape, VesselShape, WorkShape)


@pytest.fixture(scope="module")
def tables() -> ModuleType:
    found = importlib.util.spec_from_file_location("tables", pages.ROOT / "docs" / "tables.py")
    assert found is not None
    assert found.loader is not None
    module = importlib.util.module_from_spec(found)
    found.loader.exec_module(module)
    return module


def text(name: str) -> str:
    return (pages.ROOT / "docs" / name).read_text(encoding="utf-8")


def everything() -> str:
    return "\n".join(page.read_text(encoding="utf-8") for page in pages.DOCS)


@pytest.mark.parametrize("page", pages.DOCS, ids=lambda page: page.name)
def test_tables_are_those_of_the_code(page: Path, tables: ModuleType) -> None:
    found = page.read_text(encoding="utf-8")
    assert tables.filled(found) == found, "run python docs/tables.py"


def test_every_table_has_a_page(tables: ModuleType) -> None:
    assert set(re.findall(r"<!-- table: (\S+) -->", everything())) == set(tables.TABLES)


def test_every_command_option_role_cause_and_setting_stands_in_the_pages() -> None:
    said = everything()
    options = [
        name for command in app.main.commands.values() for option in command.params for name in option.opts
    ]
    commands = [f"sevenppb {name}" for name in app.main.commands]
    flags = [name for name in options if name.startswith("-")]
    names = [*roles.ROLES, *causes.CAUSES, *features.WATCHED, *shown.SHOWN]
    names += [field.name for field in fields(settings.Settings)]
    missing = [name for name in [*commands, *flags] if name not in said]
    assert missing + [name for name in names if f"`{name}`" not in said] == []


def test_every_key_of_the_fleet_file_stands_in_its_page() -> None:
    page = text("file-formats.md")
    keys = {name for shape in SHAPES for name in fleet_shape.keys(shape)}
    assert [key for key in sorted(keys) if not re.search(rf"\b{key}\b", page)] == []


def test_names_in_the_pages_exist(tables: ModuleType) -> None:
    """What stands in backticks and looks like a name of the code is one."""
    known = {*roles.ROLES, *features.WATCHED, *shown.SHOWN, *sheet.COLUMNS, *comparison.COLUMNS}
    known |= {field.name for record in (settings.Settings, health.Health) for field in fields(record)}
    known |= {name for shape in SHAPES for name in fleet_shape.keys(shape)}
    known |= set(re.findall(r'"(\w+)":', json.dumps(document.schema())))
    known |= set(re.findall(r"`([A-Z_]+)`", tables.constants_table()))
    known |= {"FITTED", "ADDITIVE", *dir(detect)}
    changes = [block.text for page in pages.DOCS for block in pages.blocks(page, "diff")]
    known |= set(re.findall(r"\w+", " ".join(changes)))
    named = set(re.findall(r"`([a-z]+(?:_[a-z]+)+|[A-Z]+(?:_[A-Z]+)+)`", everything()))
    assert sorted(named - known) == []


@pytest.mark.parametrize("page", pages.PAGES, ids=lambda page: page.name)
def test_links_lead_somewhere(page: Path) -> None:
    lost = []
    for target, anchor in re.findall(
        r"\]\((?!https?:)([^)#\s]*)(#[^)]*)?\)", page.read_text(encoding="utf-8")
    ):
        place = page.parent / target if target else page
        if not place.exists() or (anchor and anchor[1:] not in anchors(place)):
            lost.append(target + anchor)
    assert lost == []


def anchors(page: Path) -> set[str]:
    heads = re.findall(r"^#+ (.*)$", page.read_text(encoding="utf-8"), re.MULTILINE)
    return {re.sub(r"[^\w -]", "", head).strip().lower().replace(" ", "-") for head in heads}


@pytest.mark.parametrize("page", pages.PAGES, ids=lambda page: page.name)
def test_files_named_in_the_pages_exist(page: Path) -> None:
    named = re.findall(
        r"`((?:detect|reports|synthetic|tests|benchmarks|docs)/[\w./-]+)`", page.read_text(encoding="utf-8")
    )
    assert [name for name in named if not (pages.ROOT / name).exists()] == []


def test_every_page_is_in_the_sites_menu_and_the_index() -> None:
    menu = set(re.findall(r": ([\w-]+\.md)$", (pages.ROOT / "mkdocs.yml").read_text(), re.MULTILINE))
    assert menu == {page.name for page in pages.DOCS}
    listed = set(re.findall(r"\(([\w-]+\.md)\)", text("index.md")))
    assert listed | {"index.md"} == menu


@pytest.mark.parametrize("page", pages.DOCS, ids=lambda page: page.name)
def test_examples_in_python_give_what_they_say(page: Path) -> None:
    source = "\n\n".join(block.text for block in pages.blocks(page, "pycon"))
    example = doctest.DocTestParser().get_doctest(source, {}, page.name, str(page), 0)
    assert doctest.DocTestRunner().run(example).failed == 0


def test_the_ranking_page_has_examples_and_so_has_the_formula() -> None:
    assert text("ranking.md").count(">>>") >= 4
    found = doctest.testmod(urgency)
    assert found.attempted >= 2
    assert found.failed == 0


def test_figures_in_sentences() -> None:
    timezone, display = (FleetShape.model_fields[key].default for key in ("timezone", "display"))
    layout = VesselShape.model_fields["layout"].default
    figures = [
        ("limits.md", f"| inlet temperature | {conditions.USUAL_INLET:g} °C |"),
        ("limits.md", {3.0: "three times the usual shell pressure"}.get(conditions.USUAL_SUPPLY, "?")),
        ("limits.md", f"below {features.WATCHED['outlet_oxygen'].floor:g} ppb"),
        ("file-formats.md", f"held until the next, {HOLD_HOURS}\nhours at most"),
        ("file-formats.md", f"IANA name; default {timezone}"),
        ("file-formats.md", f'default "{display}"'),
        ("file-formats.md", f'default "{layout}"'),
        ("file-formats.md", f"default {STANDARD_ATMOSPHERE / 1000:g} kPa"),
        ("file-formats.md", f"at {VOLUME_TEMPERATURE:g} °C unless it says otherwise"),
    ]
    assert [said for page, said in figures if said not in text(page)] == []
    blinding = {role.replace("_", " ") for role in urgency.BLINDING}
    assert blinding == {"shell pressure", "storage temperature", "outlet oxygen"}


def test_incidents_json_in_the_pages_fits_its_schema() -> None:
    shown_json = [
        json.loads(block.text) for block in pages.blocks(pages.ROOT / "docs" / "file-formats.md", "json")
    ]
    assert len(shown_json) == 1
    jsonschema.Draft202012Validator(document.schema()).validate(shown_json[0])
    assert shown_json[0]["schema"] == document.SCHEMA_NUMBER


def test_columns_of_incidents_csv_stand_in_their_order() -> None:
    listed = ",".join(f"`{name}`" for name in sheet.COLUMNS)
    assert listed in re.sub(r",\s+", ",", text("file-formats.md"))


def test_times_in_the_pages_can_be_read() -> None:
    rows = re.findall(
        r"^\| (?:year first|day or month|month by name|spreadsheet).*$", text("file-formats.md"), re.M
    )
    examples = [example for row in rows for example in re.findall(r"`([^`]+)`", row.split(" | ")[1])]
    assert len(examples) >= 9
    assert [example for example in examples if not timestamps.recognise([example, example])] == []


def test_the_mail_script_sends_text_and_both_attachments(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (block,) = pages.blocks(pages.ROOT / "docs" / "scheduling.md", "python")
    for name in ("digest.txt", "digest.html", "digest-a4.pdf"):
        (tmp_path / name).write_text(f"made up {name}\n", encoding="utf-8")
    sent: list[Any] = []

    class Server:
        def __init__(self, host: str, timeout: float) -> None:
            sent.append(host)

        def __enter__(self) -> "Server":
            return self

        def __exit__(self, *error: object) -> None: ...

        def starttls(self) -> None:
            sent.append("starttls")

        def send_message(self, mail: Any) -> None:
            sent.append(mail)

    monkeypatch.setattr("smtplib.SMTP", Server)
    monkeypatch.setattr(sys, "argv", ["mail_digest.py", str(tmp_path)])
    for name, value in (("SERVER", "mail.test"), ("FROM", "a@mail.test"), ("TO", "b@mail.test")):
        monkeypatch.setenv(f"DIGEST_{name}", value)
    exec(compile(block.text, "mail_digest.py", "exec"), {})
    assert sent[:2] == ["mail.test", "starttls"]
    assert sent[2]["To"] == "b@mail.test"
    assert sent[2].get_body(("plain",)).get_content() == "made up digest.txt\n"
    assert [part.get_filename() for part in sent[2].iter_attachments()] == ["digest.pdf", "digest.html"]
