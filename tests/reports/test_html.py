import base64
import hashlib
import re
import time

import made_scan

from sevenppb.detect.causes import GENERAL_CAUTION
from sevenppb.detect.settings import DEFAULTS
from sevenppb.reports.views.scan import MANY, scan_view, setting_rows


def made(**changes: object) -> str:
    first = str(changes.get("first", "DA-1"))
    scan = made_scan.recorded(made_scan.fleet_scan(**changes))  # type: ignore[arg-type]
    return made_scan.scan_page(scan, made_scan.fleet(first=first)).decode("utf-8")


def without_scripts(text: str) -> str:
    """The page as markup: what its scripts hold is no markup."""
    return re.sub(r"<script.*?</script>", "", text, flags=re.DOTALL)


def test_a_vessel_called_script_stays_text() -> None:
    text = made(first='"><script>alert(1)</script>')
    assert "<script>alert" not in text
    assert (
        text.count("<script>") == text.count("</script>") - text.count('class="zoom"') == 3
    )  # the page's own
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in text


def test_the_policy_names_exactly_the_pages_own_script_and_style(scan_html: bytes) -> None:
    text = scan_html.decode("utf-8")
    policy = re.search(r'http-equiv="Content-Security-Policy" content="([^"]+)"', text)
    assert policy is not None
    assert policy[1].replace("&#39;", "'").startswith("default-src 'none'; script-src 'sha256-")
    for tag, number in (("script", 3), ("style", 1)):
        contents = re.findall(rf"<{tag}>(.*?)</{tag}>", text, re.DOTALL)
        digests = [
            base64.b64encode(hashlib.sha256(content.encode("utf-8")).digest()).decode()
            for content in contents
        ]
        allowed = re.search(rf"{tag}-src ([^;]+)", policy[1].replace("&#39;", "'").replace("&#43;", "+"))
        assert allowed is not None
        assert allowed[1].split() == [f"'sha256-{digest}'" for digest in digests]
        assert len(digests) == number
    bare = without_scripts(text)
    assert " style=" not in bare
    assert re.search(r"\son[a-z]+=", bare) is None


def test_nothing_is_fetched(scan_html: bytes) -> None:
    addresses = set(
        re.findall(r'(?:href|src|url\()=?["\']?([^"\')\s>]+)', without_scripts(scan_html.decode("utf-8")))
    )
    assert all(address.startswith("#") for address in addresses)


def test_every_link_inside_leads_somewhere(scan_html: bytes) -> None:
    text = without_scripts(scan_html.decode("utf-8"))
    ids = re.findall(r'\sid="([^"]+)"', text)
    assert len(ids) == len(set(ids))
    assert set(re.findall(r'href="#([^"]+)"', text)) <= set(ids)


def test_the_page_holds_what_a_reader_needs(scan_html: bytes) -> None:
    text = scan_html.decode("utf-8")
    scan = made_scan.fleet_scan()
    for incident in scan.incidents:
        assert incident.id in text
        for line in (*incident.checks, *incident.cautions):
            assert line.replace("'", "&#39;") in text
    assert "DA-4: no export matches exports/da4-*.csv" in text
    assert "barometer not recorded: 101.325 kPa assumed" in text
    assert GENERAL_CAUTION.replace("'", "&#39;") in text
    assert "air in-leakage, sensor drift of vent flow" in text
    assert "0.83 = probability that it is real 0.97 × severity 0.86" in text


def test_no_incident_still_makes_a_page() -> None:
    scan = made_scan.fleet_scan()
    quiet = scan.__class__("Quiet", scan.tool, None, None, scan.vessels[2:], ())
    text = made_scan.scan_page(made_scan.recorded(quiet), made_scan.fleet()).decode("utf-8")
    assert "no change stands out from chance, load and season" in text
    assert "no readings in the period" in text


def test_twelve_incidents_all_have_their_page_and_fit_the_budget() -> None:
    started = time.process_time()
    text = made(choked=10)
    assert time.process_time() - started < 8  # two seconds a vessel
    assert len(text.encode("utf-8")) < 3_000_000
    assert text.count('<h3 id="incident-') == 12
    assert text.count('class="charts"') == 12
    assert "Drawings: scan this vessel by itself" not in text


def test_the_most_incidents_of_which_twelve_are_drawn_fit_the_budget_too() -> None:
    text = made(choked=MANY - 2)
    assert text.count('class="charts"') == 12
    assert len(text.encode("utf-8")) < 3_000_000


def test_a_few_more_than_are_drawn_say_how_to_see_the_rest() -> None:
    scan = made_scan.recorded(made_scan.fleet_scan(choked=12))
    view = scan_view(scan, made_scan.fleet(), DEFAULTS)
    assert [section.undrawn is None for section in view.sections] == [True] * 12 + [False] * 2
    assert all(section.charts == () and section.evidence for section in view.sections[12:])
    assert view.more is not None
    assert view.more.startswith("The first 12 are drawn. To see all of one vessel's, scan it by itself")


def test_every_setting_has_its_meaning() -> None:
    rows = setting_rows(DEFAULTS)
    assert rows
    assert [row.name for row in rows if not row.meaning] == []
