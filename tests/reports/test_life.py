"""What a report tells of an incident's life: whether work on its vessel mended it."""

import pandas as pd
import pytest
from made_scan import day, incident

from sevenppb.detect.fleet import Work
from sevenppb.detect.register.finding import finding
from sevenppb.detect.register.history import Life, Seen
from sevenppb.reports.numbers import Units
from sevenppb.reports.views import life


def told(done: str, ended: str | None, until: str = "2025-12-31") -> str:
    """Of an incident since 3 September 2025 and the sprays' cleaning on the day `done`."""
    row = incident(1, "DA-1", ended=None if ended is None else day(ended))
    found = finding(row)
    seen = Seen(day("2026-01-02"), day(until), "open", found)
    cleaned = Work(pd.Timestamp(done, tz="Europe/Oslo").tz_convert("UTC"), "vent cleaned", ("vent",))
    record = Life(row.id, row.vessel, "open", found, (seen,), (), (cleaned,))
    return dict(life.facts(record, row, Units("si"), "Europe/Oslo", day(until)))["Work since"]


@pytest.mark.parametrize(
    ("ended", "until", "outcome"),
    [
        ("2025-10-01", "2025-12-31", "; the readings went back after it"),  # the day itself
        ("2025-10-14", "2025-12-31", "; the readings went back after it"),
        ("2025-10-15", "2025-12-31", "; the readings did not go back until 15 Oct 2025"),
        ("2025-09-28", "2025-12-31", ""),  # over before
        (None, "2025-12-31", "; the readings have not gone back"),
        (None, "2025-10-10", "; too early to say whether the readings went back"),
    ],
)
def test_work_since_says_whether_the_readings_went_back(ended: str | None, until: str, outcome: str) -> None:
    assert told("2025-10-01", ended, until) == f"1 Oct 2025: vent cleaned{outcome}"


def test_work_before_the_onset_mends_nothing() -> None:
    assert told("2025-09-01", None) == "1 Sep 2025: vent cleaned"
