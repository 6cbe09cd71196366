import dataclasses
import json
import re
import time
from dataclasses import replace

import made_scan
import pandas as pd
import pytest
from made_scan import day

from sevenppb.detect.causes import OVER_LIMIT
from sevenppb.detect.incidents.incident import Consequence, FleetScan
from sevenppb.reports import digest_files, html, pdf, text
from sevenppb.reports.digest_files import drawings
from sevenppb.reports.views.checkpoints import checkpoints, whom_to_tell
from sevenppb.reports.views.digest import DigestPage, digest_view, last_week, week_of
from sevenppb.reports.views.week import AS_EXPECTED, ReadingRow

NONE = Consequence(None, 0.0, None)
WEEK = week_of(day("2025-11-12"), "Europe/Oslo")


def pages(choked: int = 1) -> tuple[DigestPage, ...]:
    return digest_view(made_scan.fleet_scan(choked=choked), made_scan.fleet(), WEEK).pages


def test_a_week_runs_monday_to_sunday_in_the_fleets_timezone() -> None:
    # 2025-11-12 is a Wednesday; Oslo is an hour ahead of UTC then
    first, last = WEEK
    assert first == pd.Timestamp("2025-11-09T23:00Z")
    assert last == pd.Timestamp("2025-11-16T22:59:59.999999Z")
    # the clocks go back on Sunday 26 October: that week has an hour more
    first, last = week_of(day("2025-10-22"), "Europe/Oslo")
    assert last - first > pd.Timedelta(hours=168)


def test_the_last_week_may_lack_its_last_day_but_not_two() -> None:
    sunday_morning, saturday_evening = pd.Timestamp("2025-11-16T06:00Z"), pd.Timestamp("2025-11-15T20:00Z")
    assert last_week(sunday_morning, "Europe/Oslo") == WEEK
    assert last_week(saturday_evening, "Europe/Oslo") == week_of(day("2025-11-05"), "Europe/Oslo")


def test_what_was_flagged_after_the_week_is_not_told() -> None:
    before = digest_view(made_scan.fleet_scan(), made_scan.fleet(), week_of(day("2025-09-02"), "UTC"))
    assert before.pages[0].sentences == ()


def test_the_weeks_medians_are_judged_against_the_band() -> None:
    page = pages()[0]
    there = [point.row for point in page.checkpoints if point.row is not None]
    assert not set(page.rows) & set(there)  # nothing is told twice
    verdicts = {row.feature: row.verdict for row in (*page.rows, *there)}
    assert verdicts["vent line temperature"] == "lower than expected"
    assert verdicts["outlet oxygen"] == "higher than expected"
    assert verdicts["steam valve opening"] == "as expected"


def test_a_healthy_vessel_has_nothing_to_check() -> None:
    healthy = pages()[2]
    assert healthy.headline == "Nothing stands out from chance, load and season."
    assert healthy.checks == ()
    assert {row.verdict for row in healthy.rows} == {"as expected"}


def test_a_week_over_its_limit_is_told_also_where_it_is_as_expected() -> None:
    scan, oxygen = made_scan.fleet_scan(), "outlet_oxygen"
    healthy = scan.vessels[2]
    daily = healthy.daily.assign(**{f"{kind}_{oxygen}": 11.0 for kind in ("observed", "expected")})
    vessels = (*scan.vessels[:2], replace(healthy, daily=daily), *scan.vessels[3:])
    view = digest_view(replace(scan, vessels=vessels), made_scan.fleet(), WEEK)
    page = view.pages[2]
    assert {row.feature: row.verdict for row in page.rows}["outlet oxygen"] == "as expected"
    assert page.over == ("Over its limit this week: outlet oxygen, 11.0\u00a0ppb (limit 7.0\u00a0ppb).",)
    assert page.headline == (
        "Outlet oxygen is over its limit. That is no more than this week's conditions let expect: no change, yet too much."
    )
    assert page.tell == ("the water chemist and the shift supervisor, of outlet oxygen over its limit",)
    assert page.checks == OVER_LIMIT[oxygen][0]
    assert page.cautions == OVER_LIMIT[oxygen][1]
    assert (
        page.over[0] in html.digest_page(view, [["<svg/>"] * len(one.charts) for one in view.pages]).decode()
    )
    assert "Over its limit this week: outlet oxygen" in text.digest_text(view)
    assert pages()[2].over == ()


def with_oxygen(observed: float, expected: float) -> DigestPage:
    """The healthy vessel's page in a week of so much outlet oxygen [ppb]."""
    scan = made_scan.fleet_scan()
    daily = scan.vessels[2].daily.assign(observed_outlet_oxygen=observed, expected_outlet_oxygen=expected)
    vessels = (*scan.vessels[:2], replace(scan.vessels[2], daily=daily), *scan.vessels[3:])
    return digest_view(replace(scan, vessels=vessels), made_scan.fleet(), WEEK).pages[2]


def test_a_week_over_its_limit_does_not_begin_with_nothing() -> None:
    high = with_oxygen(11.0, 5.2)
    assert (
        high.headline
        == "Outlet oxygen is over its limit and higher than expected, which for a week may be chance."
    )
    assert high.tell[-1] == "the reliability engineer, of outlet oxygen higher than expected"
    equal = with_oxygen(7.02, 7.02)  # reads as the limit itself
    assert (equal.over, equal.tell) == ((), ())


def test_oxygen_over_its_limit_is_told_to_the_chemist_whatever_else_there_is() -> None:
    over = {
        "outlet_oxygen": ReadingRow("outlet oxygen", "9 ppb", "9 ppb", "5 ppb", "higher than expected", 9.0)
    }
    loss = made_scan.incident(1, "DA-1", cause="heat-loss", consequence=NONE)
    assert whom_to_tell([], {"subcooling": ReadingRow("subcooling", "", "", "", AS_EXPECTED, 2.5)}) == (
        "the shift supervisor, of subcooling over its limit",
    )
    assert whom_to_tell([loss], over) == (
        "the maintenance planner, of heat loss",
        "the water chemist, of outlet oxygen over its limit",
    )


def test_a_vent_loss_below_zero_is_not_told() -> None:
    scan = made_scan.fleet_scan()
    daily = scan.vessels[2].daily.drop(columns="observed_vent_temperature").assign(vent_loss=-0.03)
    units = {name: unit for name, unit in scan.vessels[2].units.items() if name != "vent_temperature"}
    vessels = (*scan.vessels[:2], replace(scan.vessels[2], daily=daily, units=units), *scan.vessels[3:])
    view = digest_view(replace(scan, vessels=vessels), made_scan.fleet(), WEEK)
    vent = view.pages[2].checkpoints[3]
    assert vent.row is not None
    assert (vent.row.observed, vent.row.last, vent.row.normal) == ("–", "–", "–")
    assert vent.found.startswith("not judged this week: look from a safe place")


def test_columns_of_long_readings_do_not_run_into_one_another() -> None:
    page = with_oxygen(5.0, 5.0)
    row = ReadingRow(
        "supply pressure", "132.1 psi gauge", "128.7 psi gauge", "129.4 psi gauge", AS_EXPECTED, 1.0
    )
    view = digest_view(made_scan.fleet_scan(), made_scan.fleet(), WEEK)
    told = text.digest_text(replace(view, pages=(replace(page, rows=(row,)),)))
    (line,) = (line for line in told.splitlines() if line.startswith("supply pressure"))
    assert "132.1 psi gauge 128.7 psi gauge 129.4 psi gauge" in line


def test_the_day_on_which_a_limit_is_reached_is_no_news_in_a_week_over_it() -> None:
    scan = made_scan.fleet_scan()
    first = scan.vessels[0]
    assert "outlet oxygen" in pages()[0].over[0]
    assert "its limit" not in pages()[0].sentences[0]
    below = replace(first, daily=first.daily.assign(observed_outlet_oxygen=5.0))
    page = digest_view(replace(scan, vessels=(below, *scan.vessels[1:])), made_scan.fleet(), WEEK).pages[0]
    assert page.over == ()
    assert "outlet oxygen passed its limit" in page.sentences[0] or "reaches its limit" in page.sentences[0]


def stated(*states: str) -> FleetScan:
    """The made-up scan with the first vessel's incidents in these states."""
    scan = made_scan.fleet_scan(choked=len(states))
    first = scan.vessels[0]
    incidents = tuple(replace(row, state=state) for row, state in zip(first.incidents, states, strict=True))  # type: ignore[arg-type]
    return replace(scan, vessels=(replace(first, incidents=incidents), *scan.vessels[1:]))


def test_what_is_new_this_week_and_what_no_scan_has_listed_say_so() -> None:
    scan = stated("new", "new")
    flagged = ("2025-11-10", "2025-11-09")  # Monday of the week, and the day before
    incidents = tuple(
        replace(row, id="", first_flagged=day(first))
        for row, first in zip(scan.vessels[0].incidents, flagged, strict=True)
    )
    first = replace(scan.vessels[0], incidents=incidents)
    told = digest_view(replace(scan, vessels=(first, *scan.vessels[1:])), made_scan.fleet(), WEEK).pages[0]
    assert [sentence[sentence.rindex("(") :] for sentence in told.sentences] == [
        "(new this week; not in the register yet)",
        "(first flagged 9 Nov 2025; not in the register yet)",
    ]


def test_closed_is_not_told_and_acknowledged_is_no_news() -> None:
    view = digest_view(stated("closed", "acknowledged", "worsening"), made_scan.fleet(), WEEK)
    first = view.pages[0]
    assert first.headline == "1 change to look at."
    assert len(first.sentences) == 1
    assert first.sentences[0].endswith("(DA-1/2025-003, worsening, first flagged 14 Sep 2025)")
    assert [line[-14:] for line in first.known] == ["(DA-1/2025-002)"[-14:]]
    assert "Acknowledged already:" in text.digest_text(view)
    quiet = digest_view(stated("acknowledged"), made_scan.fleet(), WEEK).pages[0]
    assert quiet.headline == (
        "Outlet oxygen is over its limit; nothing new stands out from chance, load and season."
    )
    assert (quiet.tell, quiet.checks) == ((), ())


def test_the_four_checkpoints_say_what_the_readings_said() -> None:
    found = {point.name: point.found for point in pages()[0].checkpoints}
    assert found == {
        "Water hot enough for its pressure": "subcooling higher than expected",
        "Shell above atmosphere": "as expected",
        "Steam above shell": "as expected",
        "Vent open": "vent line temperature lower than expected",
    }


def test_a_week_without_a_finding_says_what_a_reading_that_is_off_means_and_what_was_not_judged() -> None:
    scan = made_scan.fleet_scan()
    off, idle = scan.vessels[2].daily.copy(), scan.vessels[2].daily.copy()
    off.loc["2025-11-10":"2025-11-16", "observed_vent_temperature"] += 9.0
    idle.loc["2025-11-10":"2025-11-16", "hours"] = 0.0
    vessels = tuple(
        replace(scan.vessels[2], id=name, daily=daily) for name, daily in (("DA-1", off), ("DA-2", idle))
    )
    seen, unseen = digest_view(replace(scan, vessels=vessels), made_scan.fleet(), WEEK).pages
    assert seen.headline == (
        "Nothing stands out from chance, load and season: a reading off for a week may be chance."
    )
    assert unseen.headline == "Nothing to tell: no hour of this week could be judged."


def test_steam_is_not_as_expected_over_the_shell_where_its_supply_is_low() -> None:
    rows = {
        name: ReadingRow(label, "", "", "", verdict, 1.0)
        for name, label, verdict in (
            ("steam_to_shell", "steam supply over shell pressure", AS_EXPECTED),
            ("supply_pressure", "supply pressure", "lower than expected"),
        )
    }
    found = {point.name: point.found for point in checkpoints(rows)}
    assert found["Steam above shell"] == "supply pressure lower than expected"


def test_a_checkpoint_shows_this_week_the_last_and_what_is_normal() -> None:
    vessel = made_scan.fleet_scan().vessels[0]
    row = pages()[0].checkpoints[1].row
    assert row is not None
    this, last = (
        float(vessel.daily.loc[first:until, "shell_over_air"].median()) / 1000.0
        for first, until in (("2025-11-10", "2025-11-16"), ("2025-11-03", "2025-11-09"))
    )
    healthy = float(vessel.daily.loc["2024-01-01":"2024-04-28", "shell_over_air"].median()) / 1000.0
    told = [plain(text) for text in (row.observed, row.last, row.normal)]
    assert told == [f"{value:.1f} kPa" for value in (this, last, healthy)]


def test_a_place_without_readings_says_what_to_look_at() -> None:
    only = {"subcooling": pages()[0].checkpoints[0].row}
    unread = {point.name: point for point in checkpoints(only)}  # type: ignore[arg-type]
    assert unread["Vent open"].found == "not recorded: look from a safe place whether its plume is as usual"
    assert unread["Vent open"].row is None
    assert {point.found.split(":")[0] for point in pages()[3].checkpoints} == {"not judged this week"}


@pytest.mark.parametrize(("normal", "said"), [("43 kPa", True), ("-20 kPa", False)])
def test_a_shell_no_higher_than_the_air_is_said_where_that_is_not_usual(normal: str, said: bool) -> None:
    verdict = "lower than expected" if said else AS_EXPECTED
    row = ReadingRow("shell pressure over the air's", "-20 kPa", "-19 kPa", normal, verdict, -20_000.0)
    found = checkpoints({"shell_over_air": row})[1].found
    assert found == ("no higher than the air's pressure: air can be drawn in" if said else AS_EXPECTED)


def test_it_says_whom_to_tell_and_of_what() -> None:
    assert pages()[0].tell == (
        "the shift supervisor and the maintenance planner, of choked vent",
        "the water chemist, of outlet oxygen over its limit",
    )
    assert pages()[1].tell == (
        "the instrument technician, of sensor drift of outlet oxygen",
        "the maintenance planner, of heat loss",
        "the water chemist, of outlet oxygen over its limit",  # as read, and so a test is wanted
    )
    assert whom_to_tell([made_scan.incident(1, "DA-1", cause="unexplained", consequence=NONE)]) == (
        "the reliability engineer, of unexplained change",
    )
    unsure = made_scan.incident(1, "DA-1", confidence=0.3, consequence=NONE)
    assert whom_to_tell([unsure]) == ("the reliability engineer, of a change whose cause is not told",)


def test_what_could_not_be_judged_says_so() -> None:
    assert pages()[3].headline.startswith("Not judged: DA-4: no export matches")
    outage = digest_view(made_scan.fleet_scan(), made_scan.fleet(), week_of(day("2024-07-24"), "UTC"))
    assert {row.verdict for row in outage.pages[2].rows} == {"not judged"}
    assert outage.pages[2].checkpoints[1].found == "not judged this week: read the shell's pressure gauge"
    assert pdf.digest_pdf(outage, drawings(outage), "a4").startswith(b"%PDF")


def test_incidents_over_before_the_week_are_left_out() -> None:
    later = digest_view(made_scan.fleet_scan(), made_scan.fleet(), week_of(day("2025-12-10"), "UTC"))
    assert later.pages[1].headline == "1 change to look at."  # the heat loss ended on 20 November


def test_a_closed_incident_is_left_out() -> None:
    scan = made_scan.fleet_scan()
    closed = dataclasses.replace(scan.incidents[0], state="closed")
    vessel = dataclasses.replace(scan.vessels[0], incidents=(closed,))
    view = digest_view(dataclasses.replace(scan, vessels=(vessel,)), made_scan.fleet(), WEEK)
    assert view.pages[0].sentences == ()


def test_plain_text_is_narrow_and_complete() -> None:
    view = digest_view(made_scan.fleet_scan(), made_scan.fleet(), WEEK)
    told = text.digest_text(view)
    assert max(map(len, told.splitlines())) <= text.WIDTH
    flat = re.sub(r"\s+", " ", told)
    for page in view.pages:
        for line in (page.headline, *page.sentences, *page.checks, *page.cautions):
            assert re.sub(r"\s+", " ", line) in flat


def test_html_is_escaped_and_runs_nothing() -> None:
    name = "<script>alert(1)</script>"
    view = digest_view(made_scan.fleet_scan(first=name), made_scan.fleet(first=name), WEEK)
    page = html.digest_page(view, drawings(view)).decode("utf-8")
    assert "<script" not in page
    assert "script-src &#39;none&#39;" in page


@pytest.mark.parametrize("paper", ["a4", "us-letter"])
def test_the_pdf_has_a_page_a_vessel_even_when_much_is_wrong(paper: pdf.Paper) -> None:
    view = digest_view(made_scan.fleet_scan(choked=8), made_scan.fleet(), WEEK)
    assert view.pages[0].more == 5
    made = pdf.compiler(view, drawings(view), paper)
    *sizes, pages = json.loads(made.query("metadata", field="value"))  # sizes of print [points]
    assert pages == len(sizes) == len(view.pages)
    assert min(sizes) == sizes[0] >= 9
    assert sizes[2:] == [13, 13]  # nothing to tell of: large print


def test_the_pdf_holds_typesetting_marks_as_text() -> None:
    name = '#read("/etc/passwd") *bold* $x$'
    view = digest_view(made_scan.fleet_scan(first=name), made_scan.fleet(first=name), WEEK)
    assert pdf.digest_pdf(view, drawings(view), "a4").startswith(b"%PDF")


def test_the_same_week_gives_the_same_bytes_within_the_budget() -> None:
    started = time.process_time()
    once = digest_files.digest_files(made_scan.fleet_scan(), made_scan.fleet(), WEEK)
    assert time.process_time() - started < 8  # two seconds a vessel
    assert set(once) == {"digest.html", "digest.txt", "digest-a4.pdf", "digest-letter.pdf"}
    assert once["digest-a4.pdf"].startswith(b"%PDF")
    again = digest_files.digest_files(made_scan.fleet_scan(), made_scan.fleet(), WEEK)
    assert once == again


def plain(text: str) -> str:
    return text.replace("\N{NO-BREAK SPACE}", " ")
