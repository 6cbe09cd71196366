import dataclasses
import functools
import json
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import made_scan
import pandas as pd
import pytest
import vl_convert
from click.testing import CliRunner, Result

from sevenppb.reports.cli import app, options, progress, running
from sevenppb.reports.cli.scan import threshold

FLEET = """
[fleet]
name = "Northmere heating plant"
timezone = "Europe/Oslo"
""" + "".join(
    f"""
[[vessel]]
id = "DA-{n}"
exports = ["exports/da{n}-*.csv"]
[vessel.tags]
shell_pressure = {{ tag = "PT-{n}01", unit = "kPa gauge" }}
storage_temperature = {{ tag = "TT-{n}03", unit = "degC" }}
"""
    for n in (1, 2, 3, 4)
)


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    path = tmp_path / "fleet.toml"
    path.write_text(FLEET, encoding="utf-8")
    return path


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    """A scanner that answers at once with a made-up result of all vessels, and keeps what it was asked."""
    made = made_scan.fleet_scan()
    kept: dict[str, Any] = {"answer": dataclasses.replace(made, incidents=made.incidents[:1])}

    def scan(fleet: object, show: progress.Progress, **arguments: Any) -> Any:
        kept.update(arguments)
        show("DA-1", 1, 1)
        return kept["answer"]

    monkeypatch.setattr(running, "scan", scan)
    monkeypatch.setattr(vl_convert, "vegalite_to_svg", lambda spec: drawn_once(json.dumps(spec)))
    return kept


DRAW = vl_convert.vegalite_to_svg


@functools.cache
def drawn_once(spec: str) -> str:
    """The same few charts are drawn in every test here, and drawing takes most of the time."""
    return DRAW(json.loads(spec))


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(app.main, [str(word) for word in words], catch_exceptions=False)


def healthy(scan: Any) -> Any:
    return dataclasses.replace(scan, vessels=scan.vessels[:3])


def test_a_scan_writes_its_folder_beside_the_fleet_file(fleet: Path, asked: dict[str, Any]) -> None:
    asked["answer"] = healthy(asked["answer"])
    result = run("scan", fleet)
    assert result.exit_code == 0
    written = {path.name for path in (fleet.parent / "scan").iterdir()}
    assert written == {
        "incidents.json",
        "incidents.csv",
        "daily.parquet",
        "register.sqlite",
        "scan.html",
        "scan.pdf",
    }
    assert "First to look at: DA-1, choked vent." in result.stdout
    assert str(fleet.parent / "scan" / "scan.html") in result.stdout
    assert "DA-1: 1 of 1" in result.stderr
    assert json.loads((fleet.parent / "scan" / "incidents.json").read_bytes())["schema"] == 1


def test_days_are_the_fleets_own_and_until_includes_its_day(fleet: Path, asked: dict[str, Any]) -> None:
    run("scan", fleet, "--since", "2025-01-01", "--until", "2025-06-30", "--vessel", "DA-2", "--workers", "2")
    assert asked["since"] == pd.Timestamp("2024-12-31T23:00Z")
    assert asked["until"] == pd.Timestamp("2025-06-30T21:59:59.999999Z")
    assert asked["vessels"] == ("DA-2",)
    assert asked["workers"] == 2


def test_a_failed_vessel_is_told_and_gives_1_while_the_rest_is_written(
    fleet: Path, asked: dict[str, Any]
) -> None:
    result = run("scan", fleet)
    assert result.exit_code == 1
    assert "DA-4: no export matches" in result.stderr
    assert (fleet.parent / "scan" / "scan.html").exists()


@pytest.mark.parametrize(("condition", "status"), [("urgency>=0.83", 3), ("urgency >= 0.84", 0)])
def test_fail_on_urgency(fleet: Path, asked: dict[str, Any], condition: str, status: int) -> None:
    asked["answer"] = healthy(asked["answer"])
    assert run("scan", fleet, "--fail-on", condition).exit_code == status


def test_a_closed_incident_is_not_urgent(fleet: Path, asked: dict[str, Any]) -> None:
    asked["answer"] = healthy(asked["answer"])
    assert run("scan", fleet, "--fail-on", "urgency>=0.1").exit_code == 3
    assert run("close", fleet, "DA-1/2025-001").stdout == "DA-1/2025-001 is closed.\n"
    result = run("scan", fleet, "--fail-on", "urgency>=0.1")
    assert result.exit_code == 0
    assert "1 incident found, 0 still running, 1 closed." in result.stdout


def test_a_note_acknowledges_and_stands_in_the_next_report(fleet: Path, asked: dict[str, Any]) -> None:
    asked["answer"] = healthy(asked["answer"])
    run("scan", fleet)
    noted = run("note", fleet, "DA-1/2025-001", "vent <line> looked at", "--author", "Kim Moe")
    assert noted.exit_code == 0
    assert noted.stdout == "DA-1/2025-001: note added; its state is acknowledged.\n"
    run("scan", fleet)
    folder = fleet.parent / "scan"
    assert json.loads((folder / "incidents.json").read_bytes())["incidents"][0]["state"] == "acknowledged"
    page = (folder / "scan.html").read_text(encoding="utf-8")
    assert "Kim Moe: vent &lt;line&gt; looked at" in page


def test_an_unknown_incident_is_answered_with_the_nearest(fleet: Path, asked: dict[str, Any]) -> None:
    asked["answer"] = healthy(asked["answer"])
    missing = run("note", fleet, "DA-1/2025-001", "seen")
    assert missing.exit_code == 2
    assert "there is no register yet. Run sevenppb scan first" in missing.stderr
    run("scan", fleet, "--out", fleet.parent / "elsewhere")
    result = run("close", fleet, "DA-1/2025-01", "--out", fleet.parent / "elsewhere")
    assert result.exit_code == 2
    assert "has no incident DA-1/2025-01. The nearest it has: DA-1/2025-001." in result.stderr
    assert run("note", fleet, "DA-1/2025-001", " ").exit_code == 2


def test_the_report_tells_what_changed_since_the_last_scan(fleet: Path, asked: dict[str, Any]) -> None:
    first = asked["answer"] = healthy(asked["answer"])
    run("scan", fleet)
    page = fleet.parent / "scan" / "scan.html"
    assert "Since the scan of" not in page.read_text(encoding="utf-8")
    found = first.incidents[0]
    size = dataclasses.replace(found.magnitude, value=0.8, low=0.7, high=0.9)
    asked["answer"] = dataclasses.replace(first, incidents=(dataclasses.replace(found, magnitude=size),))
    run("scan", fleet)
    text = page.read_text(encoding="utf-8")
    assert "Since the scan of" in text
    assert re.search(
        r"DA-1/2025-001: choked vent, vent area lost 80\W% \(70 to 90\W%\); before that 62\W% by readings to \d",
        text,
    )
    assert json.loads(page.with_name("incidents.json").read_bytes())["incidents"][0]["state"] == "worsening"


def test_a_change_of_cause_is_told_and_the_incident_keeps_its_id(fleet: Path, asked: dict[str, Any]) -> None:
    first = asked["answer"] = healthy(asked["answer"])
    run("scan", fleet)
    found = first.incidents[0]
    again = dataclasses.replace(
        found, cause="tray-damage", first_flagged=found.first_flagged + pd.Timedelta(days=30)
    )
    asked["answer"] = dataclasses.replace(first, incidents=(again,))
    run("scan", fleet)
    run("close", fleet, "DA-1/2025-001", "--author", "Sam Roe")
    run("scan", fleet)
    text = (fleet.parent / "scan" / "scan.html").read_text(encoding="utf-8")
    told = [re.sub(r"<[^>]+>", "", line) for line in text.splitlines() if "DA-1/2025-001" in line]
    assert "DA-1/2025-001: damaged trays; before that choked vent" in told
    assert any(re.match(r"DA-1/2025-001: damaged trays, \d+ \w+ 20\d\d by Sam Roe", line) for line in told)
    assert re.search("Told before as</dt><dd>choked vent by readings to", text)
    assert "No longer found" not in text


@pytest.mark.parametrize("text", ["urgency>0.5", "urgency>=2", "urgency>=", "rank>=1", "0.5"])
def test_a_wrong_condition_is_explained(fleet: Path, asked: dict[str, Any], text: str) -> None:
    result = run("scan", fleet, "--fail-on", text)
    assert result.exit_code == 2
    assert 'Write it like "urgency>=0.5"' in result.stderr


@pytest.mark.parametrize("text", ["soon", "2025-02-30", "30.06.2025", "2025"])
def test_a_wrong_day_is_explained(fleet: Path, asked: dict[str, Any], text: str) -> None:
    result = run("scan", fleet, "--until", text)
    assert result.exit_code == 2
    assert f'"{text}" is not a day. Write it like 2025-09-30.' in result.stderr


def test_the_fleet_files_faults_are_told_all_at_once(tmp_path: Path) -> None:
    path = tmp_path / "bad.toml"
    path.write_text(FLEET.replace("kPa gauge", "kPa").replace("Europe/Oslo", "Europe/Osol"), encoding="utf-8")
    result = run("scan", path)
    assert result.exit_code == 2
    assert len(result.stderr.splitlines()) == 5
    assert "gauge or abs?" in result.stderr
    assert "Traceback" not in result.output


def test_a_folder_that_cannot_be_written_gives_one_sentence(fleet: Path, asked: dict[str, Any]) -> None:
    result = run("scan", fleet, "--quiet", "--out", fleet)
    assert result.exit_code == 2
    assert re.fullmatch(
        r"Can't write to .*fleet\.toml: .*\. Choose another folder with --out\.\n", result.stderr
    )


def test_digest_takes_the_asked_week_and_sees_nothing_later(fleet: Path, asked: dict[str, Any]) -> None:
    asked["answer"] = healthy(asked["answer"])
    result = run("digest", fleet, "--week", "2025-11-12")
    assert result.exit_code == 0
    assert asked["until"] == pd.Timestamp("2025-11-16T22:59:59.999999Z")
    folder = fleet.parent / "digest"
    assert asked["out"] == folder  # where results are kept
    assert "week 10 to 16 Nov 2025" in (folder / "digest.html").read_text(encoding="utf-8")


def test_one_register_for_all_folders_where_the_fleet_file_names_it(
    fleet: Path, asked: dict[str, Any]
) -> None:
    asked["answer"] = healthy(asked["answer"])
    head = 'name = "Northmere heating plant"'
    fleet.write_text(fleet.read_text().replace(head, f'{head}\nregister = "kept/incidents.sqlite"'))
    assert run("scan", fleet, "--out", fleet.parent / "first").exit_code == 0
    assert run("close", fleet, "DA-1/2025-001").stdout == "DA-1/2025-001 is closed.\n"
    later = run("scan", fleet, "--out", fleet.parent / "second")
    assert "1 incident found, 0 still running, 1 closed." in later.stdout
    assert run("digest", fleet, "--week", "2025-11-10").exit_code == 0
    page = (fleet.parent / "digest" / "digest.txt").read_text(encoding="utf-8")
    assert "choked vent" not in page.lower()
    assert [path.relative_to(fleet.parent).parts[0] for path in fleet.parent.rglob("*.sqlite")] == ["kept"]


def test_a_closed_incident_stays_out_of_the_digest(fleet: Path, asked: dict[str, Any]) -> None:
    run("scan", fleet)
    (id_,) = (
        row["id"] for row in json.loads((fleet.parent / "scan/incidents.json").read_bytes())["incidents"]
    )
    assert run("digest", fleet, "--week", "2025-11-12").exit_code == 1  # DA-4 can't be read
    told = fleet.parent / "digest" / "digest.txt"
    assert id_ in told.read_text(encoding="utf-8")
    assert run("close", fleet, id_, "--author", "Sam").exit_code == 0
    run("digest", fleet, "--week", "2025-11-12")
    assert id_ not in told.read_text(encoding="utf-8")


def test_digest_without_any_reading_says_so(fleet: Path, asked: dict[str, Any]) -> None:
    scan = asked["answer"]
    asked["answer"] = dataclasses.replace(
        scan, vessels=scan.vessels[3:], incidents=(), start=None, until=None
    )
    result = run("digest", fleet)
    assert result.exit_code == 2
    assert "no vessel has a reading" in result.stderr


def test_compare_writes_its_page(fleet: Path, asked: dict[str, Any]) -> None:
    asked["answer"] = healthy(asked["answer"])
    assert run("compare", fleet).exit_code == 0
    assert (fleet.parent / "compare" / "compare.html").exists()
    assert asked["out"] == fleet.parent / "compare"


@pytest.mark.parametrize(
    ("command", "page"), [("scan", "scan"), ("compare", "compare"), ("digest", "digest")]
)
def test_display_takes_the_place_of_the_fleet_files(
    fleet: Path, asked: dict[str, Any], command: str, page: str
) -> None:
    for display, unit in (("us", "°F"), ("si", "°C")):
        run(command, fleet, "--display", display)
        assert unit in (fleet.parent / command / f"{page}.html").read_text(encoding="utf-8")


def test_every_command_has_an_example() -> None:
    for name, command in app.main.commands.items():
        assert re.search(rf"Example:\n +sevenppb {name} ", command.help or ""), name


def test_help_is_quick_and_loads_nothing_heavy() -> None:
    code = (
        "import sys, time; from sevenppb.reports.cli import app; app.main(['-h'], standalone_mode=False); "
        "print([m for m in ('pandas', 'numpy', 'altair', 'scipy', 'duckdb') if m in sys.modules]); "
        "print(time.process_time())"  # of the processor: a busy machine is no slow program
    )
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    *_, loaded, seconds = shown.stdout.splitlines()
    assert loaded == "[]"
    assert float(seconds) < 0.3


def test_an_old_code_page_shows_a_question_mark_rather_than_stop(fleet: Path) -> None:
    fleet.write_text(FLEET.replace("Europe/Oslo", "Europe/Östersund→"), encoding="utf-8")
    code = "from sevenppb.reports.cli import app; app.main()"
    shown = subprocess.run(
        [sys.executable, "-c", code, "scan", str(fleet)],
        capture_output=True,
        check=False,
        env={"PYTHONIOENCODING": "cp1252", "PATH": ""},
    )
    assert shown.returncode == 2
    assert "Europe/Östersund?" in shown.stderr.decode("cp1252")


def test_a_log_gets_few_lines(capsys: pytest.CaptureFixture[str]) -> None:
    with progress.shown(quiet=False) as show:
        for done in range(1, 501):
            show("DA", done, 500)
    assert 2 <= len(capsys.readouterr().err.splitlines()) <= progress.LINES_IN_A_LOG + 1


def test_thresholds_and_days_by_hand() -> None:
    assert threshold("urgency>=1") == 1.0
    assert threshold("urgency>=.5") == 0.5
    assert options.day(None, "UTC", end=True, option="--until") is None
    # the clocks go forward at 02:00 on 30 March 2025 in Oslo: the day is 23 hours long
    first = options.day("2025-03-30", "Europe/Oslo", end=False, option="--since")
    last = options.day("2025-03-30", "Europe/Oslo", end=True, option="--until")
    assert first is not None
    assert last is not None
    assert last - first == pd.Timedelta(hours=23) - pd.Timedelta(microseconds=1)
