"""Times in every form, against Python's own clock."""

import datetime
import zoneinfo

import duckdb
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sevenppb.detect.exports import local_time, timestamps

ZONES = ["UTC", "Europe/Oslo", "America/New_York", "Australia/Lord_Howe", "America/Sao_Paulo", "Asia/Kolkata"]
WHOLE = np.array([], dtype=np.int64)  # one file
MOMENT = datetime.datetime(2025, 3, 4, 15, 6, 7)


def parsed(text: str, form: timestamps.TimeForm) -> datetime.datetime | None:
    (us,) = duckdb.execute(f"SELECT {form.sql.format(x='$1')}", [text]).fetchone() or (None,)
    return None if us is None else datetime.datetime(1970, 1, 1) + datetime.timedelta(microseconds=us)


@pytest.mark.parametrize(
    ("text", "words", "zoned"),
    [
        ("2025-03-04 15:06:07", "year-month-day", False),
        ("2025-03-04T15:06:07", "year-month-day", False),
        ("2025-03-04T15:06:07Z", "year-month-day with zone", True),
        ("2025-03-04 17:06:07+02:00", "year-month-day with zone", True),
        ("2025-03-04 17:06:07 +0200", "year-month-day with zone", True),
        ("2025-03-04T10:06:07-05", "year-month-day with zone", True),
        ("2025-03-04 15:06:07 UTC", "year-month-day with zone", True),
        ("2025-03-04 15:06:07 GMT", "year-month-day with zone", True),
        ("2025-03-04 15:06:07 Z", "year-month-day with zone", True),
        ("2025/03/04 15:06:07", "year-month-day", False),
        ("2025.03.04 15:06:07", "year-month-day", False),
        ("2025-03-04 3:06:07 PM", "year-month-day", False),
        ("20250304 15:06:07", "yearmonthday", False),
        ("20250304T150607", "yearmonthday", False),
        ("04-Mar-2025 15:06:07", "day and month's name", False),
        ("4 March 2025 15:06:07", "day and month's name", False),
        ("04-MAR-25 15:06:07.000", "day and month's name", False),
        ("Mar 4, 2025 3:06:07 PM", "day and month's name", False),
        ("1741100767", "seconds since 1970 (UTC)", True),
        ("1741100767000", "milliseconds since 1970 (UTC)", True),
        ("1741100767000000", "microseconds since 1970 (UTC)", True),
        ("1741100767000000000", "nanoseconds since 1970 (UTC)", True),
        ("45720.62924768518", "spreadsheet days", False),
    ],
)
def test_one_form_and_its_time(text: str, words: str, zoned: bool) -> None:
    (form,) = timestamps.recognise([text])
    assert (form.words, form.zoned) == (words, zoned)
    assert parsed(text, form) == MOMENT


@pytest.mark.parametrize(
    "template",
    [
        "{a:02d}/{b:02d}/2025 15:06:07",
        "{a}.{b}.25 15:06:07",
        "{a}-{b}-2025 3:06:07 PM",
        "{a:02d}/{b:02d}/2025 03:06:07PM",
        "{a}/{b}/2025 3:06:07 p.m.",
        "{a:02d}/{b:02d}/2025 03:06:07 p. m.",
        "{a:02d}/{b:02d}/2025 03:06:07\u00a0p.\u00a0m.",
    ],
)
def test_day_and_month_stay_open_until_a_day_settles_them(template: str) -> None:
    open_forms = timestamps.recognise([template.format(a=4, b=3), template.format(a=5, b=3)])
    assert [f.order for f in open_forms] == ["day first", "month first"]
    assert parsed(template.format(a=4, b=3), open_forms[0]) == MOMENT
    assert parsed(template.format(a=3, b=4), open_forms[1]) == MOMENT
    assert [
        f.order for f in timestamps.recognise([template.format(a=4, b=3), template.format(a=25, b=3)])
    ] == ["day first"]
    assert [
        f.order for f in timestamps.recognise([template.format(a=4, b=3), template.format(a=3, b=25)])
    ] == ["month first"]


def test_fractions_may_come_and_go() -> None:
    (form,) = timestamps.recognise(["04-Mar-2025 15:06:07", "04-Mar-2025 15:06:07.250"])
    assert parsed("04-Mar-2025 15:06:07", form) == MOMENT
    assert parsed("04-Mar-2025 15:06:07.250", form) == MOMENT + datetime.timedelta(milliseconds=250)


@pytest.mark.parametrize("text", ["", "hello", "12.5", "2025", "99/99/2025 10:00", "15:06:07", "1e3"])
def test_what_is_no_time(text: str) -> None:
    assert timestamps.recognise([text]) == []


@pytest.mark.parametrize("text", ["192", "20", "1954", "202503", "20251304"])
def test_a_short_number_is_no_date(text: str) -> None:
    assert not timestamps.looks_like_time(text)


def test_two_forms_in_one_column_are_no_form() -> None:
    assert timestamps.recognise(["2025-03-04 15:06:07", "04/03/2025 15:06:07"]) == []
    assert timestamps.recognise(["2025-03-04 15:06:07", "2025-03-04 15:06:07Z"]) == []


def local_us(utc_us: np.ndarray, zone: str) -> np.ndarray:
    """Wall-clock microseconds, by Python's zoneinfo one at a time."""
    known = zoneinfo.ZoneInfo(zone)
    offsets = [
        datetime.datetime.fromtimestamp(int(u) / 1e6, tz=known).utcoffset() or datetime.timedelta()
        for u in utc_us
    ]
    return utc_us + np.array([int(o.total_seconds()) * 1_000_000 for o in offsets])


@settings(max_examples=15, deadline=None, derandomize=True)
@given(st.sampled_from(ZONES), st.integers(2000, 2037), st.sampled_from([20, 30, 47, 60]), st.booleans())
def test_a_year_of_wall_clock_comes_back_as_it_was(
    zone: str, year: int, minutes: int, backwards: bool
) -> None:
    start = int(datetime.datetime(year, 1, 1, tzinfo=datetime.UTC).timestamp()) * 1_000_000
    utc = start + np.arange(0, 365 * 24 * 3600, minutes * 60, dtype=np.int64) * 1_000_000
    if backwards:
        utc = utc[::-1].copy()
    local = local_us(utc, zone)
    got = local_time.to_utc(local, zone, local_time.passes(local, zone, WHOLE), WHOLE)
    np.testing.assert_array_equal(got.utc, utc)
    assert got.missing is None
    assert got.undecided == 0


def test_passes_are_told_by_other_tags_rows_or_by_equal_stamps() -> None:
    zone = "Europe/Oslo"
    start = int(datetime.datetime(2025, 10, 26, tzinfo=datetime.UTC).timestamp()) * 1_000_000
    utc = (
        start + np.arange(0, 3 * 3600, 600, dtype=np.int64) * 1_000_000
    )  # 02:00 to 05:00 by the clock, one hour twice
    local = local_us(utc, zone)
    order = np.argsort(local, kind="stable")  # an export sorted by its wall clock: each stamp stands twice
    np.testing.assert_array_equal(local_time.to_utc(local[order], zone, None, WHOLE).utc, utc[order])
    known = local_time.passes(local, zone, WHOLE)
    assert known is not None
    sparse = [4, 8]  # one tag's only rows, in the first and in the second pass
    np.testing.assert_array_equal(
        local_time.to_utc(local[sparse], zone, known[sparse], WHOLE).utc, utc[sparse]
    )
    assert (
        local_time.passes(np.concatenate([local, local]), zone, WHOLE) is None
    )  # tag by tag: no order to tell from
    alone = local_time.to_utc(local[8:9], zone, None, WHOLE)
    assert alone.undecided == 1


def test_an_hour_that_the_clock_skips_is_marked() -> None:
    stamps = [
        datetime.datetime(2025, 3, 30, 1, 50),
        datetime.datetime(2025, 3, 30, 2, 30),
        datetime.datetime(2025, 3, 30, 3, 0),
    ]
    local = np.array([int((s - datetime.datetime(1970, 1, 1)).total_seconds()) * 1_000_000 for s in stamps])
    got = local_time.to_utc(local, "Europe/Oslo", None, WHOLE)
    assert got.missing is not None
    assert got.missing.tolist() == [False, True, False]


def test_files_one_after_the_other_are_looked_at_apart_only_where_they_do_not_go_on() -> None:
    local = np.concatenate(
        [np.arange(0, 10), np.arange(10, 20), np.arange(5, 15), np.arange(40, 30, -1), np.arange(50, 60)]
    )
    begins = np.array([10, 20, 30, 40])
    assert local_time.starts(local, begins).tolist() == [20, 30, 40]
    assert local_time.starts(local[:0], begins).tolist() == []


def test_each_file_has_its_own_passes_of_a_repeated_hour() -> None:
    zone = "Europe/Oslo"
    start = int(datetime.datetime(2025, 10, 25, 22, tzinfo=datetime.UTC).timestamp()) * 1_000_000
    utc = start + np.arange(0, 6 * 3600, 600, dtype=np.int64) * 1_000_000
    twice = np.concatenate([local_us(utc, zone), local_us(utc, zone)])  # the same night in two files
    apart = local_time.starts(twice, np.array([len(utc)]))
    got = local_time.to_utc(twice, zone, local_time.passes(twice, zone, apart), apart)
    np.testing.assert_array_equal(got.utc, np.concatenate([utc, utc]))
    assert got.undecided == 0
