"""The page and the document of a proof, and the command that writes them."""

import dataclasses
import json
import re
from pathlib import Path
from typing import Any

import made_scan
import pytest
from click.testing import CliRunner, Result
from made_proof import made

from sevenppb.detect import prove
from sevenppb.detect.proof.records import FleetProof
from sevenppb.detect.settings import DEFAULTS
from sevenppb.reports import html
from sevenppb.reports.charts import proof as drawing
from sevenppb.reports.cli import app
from sevenppb.reports.views.proof import proof_view

FLEET = made_scan.fleet_text(2)


def test_the_page_says_what_was_found_and_how() -> None:
    view = proof_view(made(), made_scan.fleet(), DEFAULTS)
    assert view.lead.startswith("4 of 7 faults found")
    assert "1 false incident in 2.5 vessel-years" in view.lead
    easy, vent, never = view.sections[0].rows
    assert (vent.found, vent.named, vent.days) == ("2 of 3", "2 of 2", "66")
    assert vent.tried == "10 to 66\u00a0%"
    assert (vent.smallest, vent.interval) == ("41\u00a0%", "over 28\u00a0%")
    assert (easy.smallest, easy.named) == ("under 10\u00a0%", "1 of 2")
    assert (never.smallest, never.interval, never.named, never.days) == ("over 80\u00a0kW", "–", "–", "–")
    assert view.sections[0].unseen == "Not visible with these tags, so not tried: vent too far open."
    assert view.sections[1].error == "DA-2: no export fits <da2.csv>."
    method = " ".join(view.method)
    assert "balance model" in method
    assert "150 days" in method
    assert "seed 4" in method


def test_the_page_is_one_safe_file() -> None:
    text = html.proof_page(proof_view(made(), made_scan.fleet(), DEFAULTS)).decode("utf-8")
    assert text.count("<figure") == 3
    assert "&lt;da2.csv&gt;" in text
    assert "<script" not in text
    assert re.findall(r'(?:src|href)="(?!#)', text) == []


def test_a_chart_parts_found_from_missed() -> None:
    chart = proof_view(made(), made_scan.fleet(), DEFAULTS).sections[0].charts[1]
    data = drawing.specification(chart)["datasets"]
    assert data["found"] == [{"size": 35.0, "days": 66.0}, {"size": 66.0, "days": 26.2}]
    assert data["missed"] == [{"size": 10.0, "days": 120}]
    assert data["interval"] == [{"size": pytest.approx(28.0), "to": pytest.approx(82.5)}]


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    """A prover that answers at once, and keeps what it was asked."""
    kept: dict[str, Any] = {"answer": made()}

    def at_once(fleet: object, **arguments: Any) -> FleetProof:
        kept.update(arguments)
        answer: FleetProof = kept["answer"]
        return answer

    monkeypatch.setattr(prove, "prove_fleet", at_once)
    return kept


def run(folder: Path, *words: str) -> Result:
    place = folder / "fleet.toml"
    place.write_text(FLEET, encoding="utf-8")
    return CliRunner().invoke(app.main, ["prove", str(place), *words], catch_exceptions=False)


def test_the_command_writes_both_files(tmp_path: Path, asked: dict[str, Any]) -> None:
    asked["answer"] = dataclasses.replace(made(), vessels=made().vessels[:1])
    result = run(tmp_path, "--trials", "9", "--seed", "4", "--vessel", "DA-1", "--workers", "2", "--quiet")
    assert result.exit_code == 0
    assert (asked["trials_each"], asked["seed"], asked["vessels"], asked["workers"]) == (9, 4, ("DA-1",), 2)
    assert "4 of 7 faults found" in result.stdout
    document = json.loads((tmp_path / "proof" / "proof.json").read_text(encoding="utf-8"))
    assert (document["seed"], document["within_days"]) == (4, 120)
    (vessel,) = document["vessels"]
    assert vessel["untouched"] == {"copies": 6, "vessel_years": 2.46, "false_incidents": 1}
    assert vessel["not_visible"] == ["open-vent"]
    vent = vessel["causes"][1]
    assert vent["smallest"] == {"value": 0.41, "low": 0.28, "high": None}
    assert vent["trials"][0] == {"role": None, "size": 0.1, "found": False, "named": False, "days": None}
    assert b"41" in (tmp_path / "proof" / "proof.html").read_bytes()


def test_a_vessel_that_failed_is_told_and_ends_in_one(tmp_path: Path, asked: dict[str, Any]) -> None:
    asked["answer"] = dataclasses.replace(made(), vessels=made().vessels[1:])
    result = run(tmp_path, "--quiet")
    assert result.exit_code == 1
    assert "DA-2: no export fits" in result.stderr
    assert "No vessel could be tried." in result.stdout
