"""The page as a browser shows it: offline, no complaint, sorted, filtered, narrow, printed."""

import re
from pathlib import Path
from typing import Any

import made_scan
import pytest
from made_scan import day

from sevenppb.reports import html
from sevenppb.reports.digest_files import drawings
from sevenppb.reports.views import comparison
from sevenppb.reports.views.compare import compare_view
from sevenppb.reports.views.digest import digest_view, week_of

WEEK = week_of(day("2025-11-12"), "Europe/Oslo")


def expect(found: Any) -> Any:
    from playwright import sync_api

    return sync_api.expect(found)


def shown(page: Any, column: int) -> list[str]:
    cells = page.locator(f"#ranked tbody tr:not([hidden]) > :nth-child({column})")
    return [str(text) for text in cells.all_inner_texts()]


def test_a_head_sorts_both_ways(page: Any, scan_path: Path) -> None:
    page.goto(scan_path.as_uri())
    head = page.locator("#ranked th", has_text="Urgency")
    head.get_by_role("button").click()
    assert shown(page, 4) == ["0.12", "0.31", "0.83"]
    assert head.get_attribute("aria-sort") == "ascending"
    head.get_by_role("button").click()
    assert shown(page, 4) == ["0.83", "0.31", "0.12"]
    assert head.get_attribute("aria-sort") == "descending"
    assert page.locator("#ranked th[aria-sort]").count() == 1


def test_days_sort_as_days_with_none_last(page: Any, scan_path: Path) -> None:
    page.goto(scan_path.as_uri())
    page.get_by_role("button", name="Limit reached").click()
    assert shown(page, 8) == ["20 Jan 2026", "–", "–"]


def test_filters_narrow_and_say_how_many(page: Any, scan_path: Path) -> None:
    page.goto(scan_path.as_uri())
    page.get_by_label("Vessel").select_option("DA-2")
    assert shown(page, 2) == ["DA-2", "DA-2"]
    page.get_by_label("State").select_option("eased")
    assert shown(page, 3) == ["heat loss"]
    assert page.get_by_role("status").inner_text() == "1 of 3 shown"


def test_the_keyboard_reaches_the_incidents(page: Any, scan_path: Path) -> None:
    page.goto(scan_path.as_uri())
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Skip to the incidents"
    page.keyboard.press("Enter")
    expect(page).to_have_url(re.compile("#incidents$"))


def opened(page: Any, scan_path: Path) -> Any:
    """The first chart, zoomed: what it says it shows."""
    page.goto(scan_path.as_uri())
    page.get_by_role("button", name="Zoom Vent line temperature").first.click()
    said = page.locator(".zoombar output")
    expect(said).not_to_be_empty()
    return said


def test_keys_zoom_and_move_a_chart_and_close_it(page: Any, scan_path: Path) -> None:
    said = opened(page, scan_path)
    assert said.inner_text() == "1 Jan 2024 to 30 Dec 2025"
    assert not page.locator("figure.open .drawing").is_visible()
    subpaths = (
        "[...document.querySelectorAll('.zoomed path')]"
        ".reduce((most, path) => Math.max(most, path.getAttribute('d').split('M').length), 0)"
    )
    days = page.evaluate(subpaths)
    page.keyboard.press("+")
    assert said.inner_text() == "1 Jul 2024 to 30 Jun 2025"
    page.keyboard.press("ArrowRight")
    assert said.inner_text() == "30 Sep 2024 to 29 Sep 2025"
    page.wait_for_timeout(300)
    assert 0 < page.evaluate(subpaths) < 0.7 * days
    page.keyboard.press("-")
    assert said.inner_text() == "1 Jan 2024 to 30 Dec 2025"
    page.keyboard.press("Escape")
    assert page.locator(".zoomed").count() == 0
    assert page.evaluate("document.activeElement.className") == "opener"


def test_the_mouse_zooms_and_drags_a_chart(page: Any, scan_path: Path) -> None:
    said = opened(page, scan_path)
    page.locator(".zoomed").hover()
    page.mouse.wheel(0, -200)
    expect(said).not_to_have_text(re.compile("^1 Jan 2024"))
    page.get_by_role("button", name="Show all days").click()
    page.get_by_role("button", name="Zoom in").click()
    assert said.inner_text() == "1 Jul 2024 to 30 Jun 2025"
    page.locator(".zoomed").hover()
    page.mouse.down()
    box = page.locator(".zoomed").bounding_box()
    page.mouse.move(box["x"] + box["width"] / 4, box["y"] + box["height"] / 2)
    page.mouse.up()
    expect(said).not_to_have_text("1 Jul 2024 to 30 Jun 2025")


def test_paper_gets_the_whole_chart_even_while_it_is_zoomed(page: Any, scan_path: Path) -> None:
    opened(page, scan_path)
    page.emulate_media(media="print")
    assert page.locator("figure.open .drawing").is_visible()
    assert not page.locator(".zoomed").is_visible()
    assert not page.locator(".opener").first.is_visible()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_phone_needs_no_sideways_scroll(page: Any, scan_path: Path, scheme: str) -> None:
    page.emulate_media(color_scheme=scheme)
    page.set_viewport_size({"width": 390, "height": 844})
    page.goto(scan_path.as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    caption = page.locator("#ranked caption span").bounding_box()
    assert caption["x"] >= 0
    assert caption["x"] + caption["width"] <= 390  # nothing of it is cut off


@pytest.mark.parametrize("display", ["si", "us"])
def test_no_table_of_the_fleet_needs_to_be_moved_sideways(page: Any, tmp_path: Path, display: str) -> None:
    name = "Unit 3 north boiler house deaerator B second floor"
    scan, fleet = made_scan.fleet_scan(first=name), made_scan.fleet(first=name, display=display)
    week = digest_view(scan, fleet, WEEK)
    pages = {
        "scan": made_scan.scan_page(made_scan.recorded(scan), fleet),
        "compare": html.compare_page(compare_view(scan, fleet, comparison.compared(scan, fleet))),
        "digest": html.digest_page(week, drawings(week)),
    }
    wider = (
        "[...document.querySelectorAll('.scroll')].filter(box => box.scrollWidth > box.clientWidth).length"
    )
    for report, made in pages.items():
        path = tmp_path / f"{report}.html"
        path.write_bytes(made)
        for width in (390, 1400):
            page.set_viewport_size({"width": width, "height": 844})
            page.goto(path.as_uri())
            assert page.evaluate("document.documentElement.scrollWidth") <= width, (report, width)
            assert page.evaluate(wider) == 0, (report, width)


def test_a_phone_shows_what_a_filter_leaves(page: Any, scan_path: Path) -> None:
    page.set_viewport_size({"width": 390, "height": 844})
    page.goto(scan_path.as_uri())
    page.get_by_label("State").select_option("eased")
    rows = page.locator("#ranked tbody tr")
    assert [rows.nth(n).is_visible() for n in range(rows.count())] == [False, False, True]


def test_everything_is_there_without_scripts(chromium: Any, scan_path: Path) -> None:
    context = chromium.new_context(java_script_enabled=False, offline=True)
    bare = context.new_page()
    bare.goto(scan_path.as_uri())
    assert bare.locator("#ranked tbody tr").count() == 3
    assert bare.locator("figure svg").count() >= 6
    assert not bare.locator(".filters").is_visible()
    assert bare.locator("#ranked button, .opener").count() == 0
    context.close()


def test_the_comparison_sorts_what_is_missing_and_fits_a_phone(page: Any, tmp_path: Path) -> None:
    scan, fleet = made_scan.fleet_scan(), made_scan.fleet()
    path = tmp_path / "compare.html"
    path.write_bytes(html.compare_page(compare_view(scan, fleet, comparison.compared(scan, fleet))))
    page.set_viewport_size({"width": 390, "height": 844})
    page.goto(path.as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    head = page.locator("#summary th button", has_text="Urgency")
    column = page.locator("#summary tbody tr > :last-child")
    for falling in (False, True):
        head.click()
        shown = [str(text) for text in column.all_inner_texts()]
        known = [text for text in shown if text != "–"]
        assert shown == ([*known, "–", "–"] if falling else ["–", "–", *known])
        assert known == sorted(known, reverse=falling)
        assert len(known) == 2


def test_the_digest_prints_a_page_a_vessel(page: Any, tmp_path: Path) -> None:
    view = digest_view(made_scan.fleet_scan(choked=3), made_scan.fleet(), WEEK)
    path = tmp_path / "digest.html"
    path.write_bytes(html.digest_page(view, drawings(view)))
    page.goto(path.as_uri())
    for paper in ("A4", "Letter"):
        printed = page.pdf(format=paper, prefer_css_page_size=False)
        assert len(re.findall(rb"/Type\s*/Page\b", printed)) == len(view.pages)


def test_it_prints(page: Any, scan_path: Path) -> None:
    page.emulate_media(color_scheme="dark")
    page.goto(scan_path.as_uri())
    printed = page.pdf(format="A4")
    assert printed.startswith(b"%PDF")
    page.emulate_media(media="print", color_scheme="dark")
    assert page.evaluate("getComputedStyle(document.body).color") == "rgb(27, 27, 27)"
    assert not page.locator(".filters").is_visible()
    # the browser leaves buttons out of the heads that it repeats on later pages
    heads = "[...document.querySelectorAll('th button')].map(head => getComputedStyle(head).display)"
    assert set(page.evaluate(heads)) == {"contents"}
    # no check is read without its cautions
    whole = "[...document.querySelectorAll('.cautions')].map(box => getComputedStyle(box.parentElement).breakInside)"
    assert set(page.evaluate(whole)) == {"avoid"}
    # the browser leaves buttons out of the heads that it repeats on later pages
    heads = "[...document.querySelectorAll('th button')].map(head => getComputedStyle(head).display)"
    assert set(page.evaluate(heads)) == {"contents"}
