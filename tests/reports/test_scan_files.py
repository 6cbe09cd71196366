"""A scan's files together: the PDF holds what the page holds."""

import dataclasses
import functools
import re
import shutil
import subprocess
import time

import made_scan
import pytest

from sevenppb.detect.settings import DEFAULTS
from sevenppb.reports import pdf, scan_files
from sevenppb.reports.views.scan import METHOD

HOSTILE = '#read("/etc/passwd") *x* $y$ </script>'


def made_anew(
    first: str = "DA-1", display: str = "si", choked: int = 1, most: int | None = None
) -> dict[str, bytes]:
    """A made-up scan's files, with at most so many of its incidents: drawing them takes most of a test's time."""
    scan = made_scan.fleet_scan(first=first, choked=choked)
    recorded = made_scan.recorded(dataclasses.replace(scan, incidents=scan.incidents[:most]))
    files = scan_files.scan_files(recorded, made_scan.fleet(first=first, display=display), DEFAULTS)
    return {name: made_scan.written(content) for name, content in files.items()}


made = functools.cache(made_anew)


def words_of(pdf: bytes) -> str:
    """The PDF's text with single blanks, as poppler reads it."""
    if shutil.which("pdftotext") is None:
        pytest.skip("pdftotext is not installed")
    done = subprocess.run(["pdftotext", "-", "-"], input=pdf, capture_output=True, check=True)
    return re.sub(r"\s+", " ", done.stdout.decode("utf-8"))


def test_the_pdf_tells_every_incident_and_its_checks() -> None:
    text = words_of(made()["scan.pdf"])
    for incident in made_scan.fleet_scan().incidents:
        assert incident.id in text
        for line in (*incident.checks, *incident.cautions):
            # a long word may be parted at a line's end
            assert line[:30] in text.replace("\N{HYPHEN} ", "")
    assert "air in-leakage (6 %): would leave vent line temperature as it was" in text
    assert "DA-4: no export matches exports/da4-*.csv" in text


def test_names_stay_text_and_the_file_is_the_same_twice() -> None:
    once, twice = (made_anew(first=HOSTILE, most=1)["scan.pdf"] for _ in range(2))
    assert once == twice
    assert "root:" not in words_of(once)
    assert "*x* $y$ </script>" in words_of(once)


def test_the_paper_follows_the_units() -> None:
    sizes = [
        re.findall(rb"/MediaBox\s*\[0 0 (\d+)", made(display=display, most=0)["scan.pdf"])[0]
        for display in ("si", "us")
    ]
    assert sizes == [b"595", b"612"]


def test_all_files_of_a_vessel_take_no_two_seconds() -> None:
    made()  # libraries load once
    started = time.process_time()
    made_anew(choked=4)
    assert time.process_time() - started < 8  # four vessels


def test_paper_tells_the_method_as_the_page_does() -> None:
    assert METHOD.replace("'", "&#39;") in made()["scan.html"].decode("utf-8")
    assert METHOD[:60] in words_of(made()["scan.pdf"])


def test_three_hundred_incidents_stay_within_the_budget() -> None:
    files = made(choked=300)
    page = files["scan.html"].decode("utf-8")
    assert len(page) < 3_000_000
    rows = page[page.index("<tbody>") : page.index("</tbody>")]
    assert rows.count("<tr ") == 302
    sections = set(re.findall(r'<h3 id="(incident-\d+)"', page))
    assert (
        sections
        == set(re.findall(r'href="#(incident-\d+)"', rows))
        == {f"incident-{n}" for n in range(1, 201)}
    )
    assert page.count('class="charts"') == 6
    assert page.count("Drawings: scan this vessel by itself, with --vessel DA-1.") == 194
    assert "The first 200 have a section below, and the first 6 are drawn." in page
    text = words_of(files["scan.pdf"])
    assert "sevenppb scan FLEET --vessel ID" in text
    assert text.count("Drawings: scan this vessel by itself") == pdf.MOST - 6


def test_a_section_without_drawings_has_all_its_words() -> None:
    page = made(choked=300)["scan.html"].decode("utf-8")
    last = page[page.index('<h3 id="incident-200">') : page.index('<h2 id="coverage">')]
    incident = made_scan.fleet_scan(choked=300).incidents[199]
    told = (incident.id, "Evidence: the readings", "Causes, and what speaks against them")
    for words in (*told, *incident.checks, *incident.cautions):
        assert words.replace("'", "&#39;") in last
