"""A user's mistake gives one clear sentence and the promised exit status; the other vessels are still scanned."""

import json
import re
from pathlib import Path

import exported
import pytest
from click.testing import CliRunner, Result

from sevenppb.reports.cli import app

FLEET = '[fleet]\nname = "Northmere"\ntimezone = "Europe/Oslo"\nbaseline = "210 days"\n'


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(app.main, [str(word) for word in words], catch_exceptions=False)


def block(name: str, exports: list[str], tags: dict[str, tuple[str, str | None]]) -> str:
    rows = [
        f'{role} = {{ tag = "{tag}"' + (f', unit = "{unit}" }}' if unit else " }")
        for role, (tag, unit) in tags.items()
    ]
    listed = ", ".join(f'"{export}"' for export in exports)
    return "\n".join(
        ["", "[[vessel]]", f'id = "{name}"', f"exports = [{listed}]", "[vessel.tags]", *rows, ""]
    )


TWO = {"shell_pressure": ("PT-1", "kPa abs"), "storage_temperature": ("TT-1", "degC")}
HEAD = "time,PT-1,TT-1\n"
WRONG = {
    "GONE": block("GONE", ["exports/nowhere-*.csv"], TWO),
    "TAGLESS": block("TAGLESS", ["short.csv"], TWO | {"outlet_oxygen": ("AT-9", "ppb")}),
    "EMPTY": block("EMPTY", ["empty.csv"], TWO),
    "HEADER": block("HEADER", ["header.csv"], TWO),
    "WORDS": block("WORDS", ["words.csv"], TWO),
    "UNITLESS": block("UNITLESS", ["short.csv"], TWO | {"storage_temperature": ("TT-1", None)}),
    "SHORT": block("SHORT", ["short.csv"], TWO),
}


@pytest.fixture(scope="module")
def folder(made, tmp_path_factory):
    """A good vessel's exports, and bad ones beside."""
    place = tmp_path_factory.mktemp("bad")
    good = exported.written(place, made["healthy"], "wide-parquet")
    tags = {role: (ref.tag, ref.unit) for role, ref in good.tags.items()}
    (place / "good.toml").write_text(FLEET + block("GOOD", list(good.exports), tags))
    rows = [f"2025-01-{1 + h // 24:02d}T{h % 24:02d}:00Z,140.0,10{h % 9}.5" for h in range(24 * 20)]
    (place / "short.csv").write_text(HEAD + "\n".join(rows) + "\n")
    (place / "empty.csv").write_text("")
    (place / "header.csv").write_text(HEAD)
    (place / "words.csv").write_text(
        HEAD + "".join(f"2025-01-01T{h:02d}:00Z,Bad,No Data\n" for h in range(24))
    )
    return place


@pytest.fixture(scope="module")
def mixed(folder):
    """One scan of the good vessel among all the bad ones."""
    path = folder / "mixed.toml"
    path.write_text((folder / "good.toml").read_text() + "".join(WRONG.values()))
    return run("scan", path, "--workers", "1", "--quiet", "--out", folder / "out")


@pytest.fixture(scope="module")
def written(folder, mixed):
    return json.loads((folder / "out" / "incidents.json").read_text(encoding="utf-8"))


def test_a_failed_vessel_gives_1_and_the_rest_is_scanned_and_written(folder, mixed, written):
    assert mixed.exit_code == 1
    states = {vessel["id"]: vessel["state"] for vessel in written["vessels"]}
    assert states.pop("GOOD") == "scanned"
    assert states.pop("SHORT") == "too-little-data"
    assert set(states.values()) == {"failed"}
    assert set(states) == set(WRONG) - {"SHORT"}
    for name in ("incidents.csv", "scan.html", "daily.parquet", "register.sqlite"):
        assert (folder / "out" / name).stat().st_size > 0


@pytest.mark.parametrize(
    ("vessel", "names"),
    [
        ("GONE", "nowhere-"),
        ("TAGLESS", "AT-9"),
        ("EMPTY", "empty.csv"),
        ("HEADER", "reading"),
        ("WORDS", "none of the readings can be used (48 text for bad)"),
        ("UNITLESS", "TT-1"),
        ("SHORT", "longer span"),
    ],
)
def test_each_bad_vessel_gets_one_sentence_that_names_the_matter(mixed, written, vessel, names):
    told = {row["id"]: row["error"] for row in written["vessels"] if row["state"] != "scanned"}
    sentence = told[vessel]
    assert names in sentence
    assert "\n" not in sentence
    assert sentence.rstrip()[-1] in ".?"
    assert sentence in mixed.stderr


def test_nobody_sees_a_traceback(mixed):
    assert "Traceback" not in mixed.output
    assert mixed.exception is None or isinstance(mixed.exception, SystemExit)


def test_check_tells_the_same_faults_and_reads_on(folder, mixed):
    found = run("check", folder / "mixed.toml")
    assert found.exit_code == 1
    assert "Traceback" not in found.output
    assert "GOOD" in found.stdout
    for name in ("nowhere-", "AT-9", "empty.csv"):
        assert name in found.stderr


def test_a_vessel_with_too_little_data_alone_is_no_failure(folder, tmp_path):
    path = folder / "short.toml"
    path.write_text(FLEET + WRONG["SHORT"])
    found = run("scan", path, "--workers", "1", "--quiet", "--out", tmp_path)
    assert found.exit_code == 0
    assert "SHORT: too little data" in found.stderr
    assert json.loads((tmp_path / "incidents.json").read_text(encoding="utf-8"))["incidents"] == []


@pytest.mark.parametrize(
    ("role", "tag", "unit", "said"),
    [
        ("shell_presure", "PT-1", "kPa abs", r"shell_presure.*shell_pressure"),  # unknown, with a guess
        ("inlet_temperature", "TT-2", "t/h", r"t/h"),  # does not fit
        ("steam_pressure", "PT-2", "bar", r"gauge or abs\?"),
        ("outlet_oxygen", "AT-1", "furlong", r"furlong"),
    ],
)
@pytest.mark.parametrize("command", ["scan", "check", "compare", "digest"])
def test_a_wrong_role_or_unit_is_told_with_its_line_before_anything_is_read(
    folder, tmp_path, command, role, tag, unit, said
):
    path = tmp_path / "fleet.toml"
    path.write_text(FLEET + block("DA-1", [str(folder / "short.csv")], TWO | {role: (tag, unit)}))
    line = next(n for n, row in enumerate(path.read_text().splitlines(), 1) if row.startswith(role))
    found = run(command, path)
    assert found.exit_code == 2
    assert re.search(said, found.stderr)
    assert f"fleet.toml:{line}: " in found.stderr
    assert len(found.stderr.strip().splitlines()) == 1
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("command", ["scan", "check", "compare", "digest"])
def test_a_fleet_file_that_is_not_there_is_told(tmp_path, command):
    found = run(command, tmp_path / "nowhere.toml")
    assert found.exit_code == 2
    assert len(found.stderr.strip().splitlines()) == 1
    assert "nowhere.toml" in found.stderr


def test_a_vessel_that_the_fleet_lacks_is_told(folder):
    found = run("scan", folder / "good.toml", "--vessel", "DA-99")
    assert found.exit_code == 2
    assert "DA-99" in found.stderr
    assert "GOOD" in found.stderr
    assert len(found.stderr.strip().splitlines()) == 1


def test_until_before_the_first_reading_is_told(folder, tmp_path):
    found = run(
        "scan", folder / "good.toml", "--until", "2001-01-01", "--workers", "1", "--quiet", "--out", tmp_path
    )
    assert found.exit_code == 1
    assert "GOOD" in found.stderr
    assert "2001-01-01" in found.stderr
    assert "Traceback" not in found.output
