import dataclasses
import functools
import json
from pathlib import Path

import jsonschema
import made_scan
import pytest

from sevenppb.detect.causes import CAUSES
from sevenppb.detect.incidents.incident import FleetScan, Magnitude
from sevenppb.reports import document

EXAMPLE = json.loads((Path(__file__).parent / "contract_example.json").read_text(encoding="utf-8"))


def encoded(scan: FleetScan) -> bytes:
    return made_scan.written(functools.partial(document.write, scan))


def keys(value: object, path: str = "") -> set[str]:
    """Every key of a document by its path."""
    if isinstance(value, dict):
        return {f"{path}.{key}" for key in value} | {
            found for key, part in value.items() for found in keys(part, f"{path}.{key}")
        }
    if isinstance(value, list):
        return {found for part in value for found in keys(part, path)}
    return set()


def test_the_contracts_example_fits_the_schema() -> None:
    jsonschema.Draft202012Validator(document.schema()).validate(EXAMPLE)
    jsonschema.Draft202012Validator.check_schema(document.schema())


def test_a_scan_has_the_contracts_fields_and_no_others() -> None:
    found = json.loads(encoded(made_scan.fleet_scan()))
    # two fields stand only where they say something: a failed vessel's error, an alternative's sensor
    extra = {".vessels.error", ".incidents.alternatives.role"}
    assert keys(found) - extra == keys(EXAMPLE)
    assert found["from"] == "2024-01-01T00:00:00Z"
    assert found["incidents"][0]["onset_interval"] == ["2025-08-29T00:00:00Z", "2025-09-09T00:00:00Z"]


def test_what_is_not_a_number_becomes_null() -> None:
    scan = made_scan.fleet_scan()
    bare = dataclasses.replace(
        scan.incidents[0], magnitude=Magnitude("vent area lost", 0.5, float("nan"), float("inf"), "fraction")
    )
    text = encoded(dataclasses.replace(scan, incidents=(bare,)))
    assert b"NaN" not in text
    assert b"Infinity" not in text
    assert json.loads(text)["incidents"][0]["magnitude"] == {
        "what": "vent area lost", "value": 0.5, "low": None, "high": None, "unit": "fraction",
    }  # fmt: skip


@pytest.mark.parametrize(
    "change", [{"cause": "gremlins"}, {"confidence": 1.5}, {"shape": "wavy"}, {"state": "lost"}, {"rank": 0}]
)
def test_a_document_outside_the_contract_is_never_written(change: dict[str, object]) -> None:
    scan = made_scan.fleet_scan()
    wrong = dataclasses.replace(scan.incidents[0], **change)  # type: ignore[arg-type]
    with pytest.raises(jsonschema.ValidationError):
        encoded(dataclasses.replace(scan, incidents=(wrong,)))


def test_a_failed_vessel_must_say_why() -> None:
    scan = made_scan.fleet_scan()
    mute = dataclasses.replace(scan.vessels[3], error=None)
    with pytest.raises(jsonschema.ValidationError):
        encoded(dataclasses.replace(scan, vessels=(mute,)))


def test_the_schema_knows_every_cause() -> None:
    assert set(document.schema()["$defs"]["cause"]["enum"]) == set(CAUSES)
