import csv
import dataclasses
import io

import made_scan
import pandas as pd
import pytest

from sevenppb.detect.incidents.incident import FleetScan
from sevenppb.reports import sheet


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@SUM(A1)", "|calc", "%0", "\tx", "  =1+1", "＝1"])
def test_text_that_a_spreadsheet_would_run_is_defused(text: str) -> None:
    assert sheet.defused(text) == "'" + text


@pytest.mark.parametrize("text", ["DA-1", "a=1", "", "1-2", "spray (=ok)"])
def test_other_text_is_left_alone(text: str) -> None:
    assert sheet.defused(text) == text


def rows(content: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(content.decode("utf-8-sig"))))


def test_a_row_an_incident() -> None:
    scan = made_scan.fleet_scan()
    found = rows(sheet.incidents_csv(scan))
    assert [row["id"] for row in found] == [row.id for row in scan.incidents]
    assert found[0]["onset"] == "2025-09-03"
    assert found[0]["limit_at"] == "2026-01-20"
    assert found[1]["limit_at"] == ""
    assert found[1]["magnitude_value"] == "-1.21"  # a negative number stays one


def test_a_hostile_vessel_name_is_defused_in_its_row() -> None:
    scan = made_scan.fleet_scan()
    hostile = dataclasses.replace(scan.incidents[0], vessel="=cmd()")
    found = rows(sheet.incidents_csv(dataclasses.replace(scan, incidents=(hostile,))))
    assert found[0]["vessel"] == "'=cmd()"


def daily(scan: FleetScan) -> pd.DataFrame:
    content = io.BytesIO()
    sheet.write_daily(scan, content)
    return pd.read_parquet(content)


def test_daily_rows_of_all_vessels_read_back() -> None:
    scan = made_scan.fleet_scan(days=400)
    found = daily(scan)
    assert list(found.columns[:2]) == ["vessel", "date"]
    assert found.groupby("vessel").size().to_dict() == {"DA-1": 400, "DA-2": 400, "DA-3": 400}
    one = found[found.vessel == "DA-2"].set_index("date")
    expected = scan.vessels[1].daily["residual_vent_temperature"]
    pd.testing.assert_series_equal(
        one["residual_vent_temperature"],
        expected,
        check_names=False,
        check_freq=False,
        check_index_type=False,
    )


def test_no_vessel_scanned_still_gives_a_readable_file() -> None:
    scan = made_scan.fleet_scan()
    failed = dataclasses.replace(scan, vessels=scan.vessels[3:], incidents=())
    found = daily(failed)
    assert list(found.columns) == ["vessel", "date"]
    assert rows(sheet.incidents_csv(failed)) == []
