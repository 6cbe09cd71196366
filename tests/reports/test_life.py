"""What a report tells of an incident's life: whether work on its vessel mended it."""

import made_scan
import pandas as pd
import pytest
from made_scan import day, incident

from sevenppb.detect.fleet import Work
from sevenppb.detect.register.finding import finding
from sevenppb.detect.register.history import Life, Seen
from sevenppb.reports.numbers import Units
from sevenppb.reports.views import life

DAILY = made_scan.fleet_scan().vessels[0].daily  # its vent line cools over 60 days from 3 September 2025 on


def told(done: str, ended: str | None = None, until: str = "2025-12-31") -> str:
    """Of an incident since 3 September 2025 and work on the day `done`."""
    row = incident(1, "DA-1", ended=None if ended is None else day(ended))
    found = finding(row)
    seen = Seen(day("2026-01-02"), day(until), "open", found)
    cleaned = Work(pd.Timestamp(done, tz="Europe/Oslo").tz_convert("UTC"), "vent cleaned", ("vent",))
    record = Life(row.id, row.vessel, "open", found, (seen,), (), (cleaned,))
    daily = DAILY.loc[: day(until)]
    return dict(life.facts(record, row, daily, Units("si"), "Europe/Oslo"))["Work since"]


@pytest.mark.parametrize(
    ("rest", "outcome"),
    [
        ({"ended": "2025-11-01"}, "; the readings went back after it"),  # the day itself
        ({"ended": "2025-11-15"}, "; the readings went back after it"),
        ({"ended": "2025-12-20"}, "; the readings have not gone back"),  # by the work, at least
        ({"ended": "2025-10-25"}, "; the readings went back after it"),  # an end is dated no better
        ({"ended": "2025-10-24"}, ""),  # over before
        ({}, "; the readings have not gone back"),
        ({"until": "2025-11-14"}, "; too early to say whether the readings went back"),
        ({"until": "2025-11-15"}, "; the readings have not gone back"),
    ],
)
def test_work_since_says_whether_the_readings_went_back(rest: dict[str, str], outcome: str) -> None:
    assert told("2025-11-01", **rest) == f"1 Nov 2025: vent cleaned{outcome}"


def test_work_before_the_onset_mends_nothing() -> None:
    assert told("2025-09-01") == "1 Sep 2025: vent cleaned"
