"""Every page as markup: without an error by the HTML standard, and readable on a phone without its table's heads."""

import xml.etree.ElementTree as ET
from collections.abc import Callable, Iterator

import html5lib
import made_scan
import pytest
from made_proof import made as made_proof

from sevenppb.detect.settings import DEFAULTS
from sevenppb.reports import html
from sevenppb.reports.digest_files import drawings as digest_drawings
from sevenppb.reports.views import comparison
from sevenppb.reports.views.compare import compare_view
from sevenppb.reports.views.digest import digest_view, week_of
from sevenppb.reports.views.proof import proof_view

NAME = 'Kraftwerk-Nord O\'Neill <b> & "two"'  # every character that markup minds
SCAN, FLEET = made_scan.fleet_scan(first=NAME), made_scan.fleet(first=NAME)


def scan() -> bytes:
    return made_scan.scan_page(made_scan.recorded(SCAN), FLEET)


def compare() -> bytes:
    return html.compare_page(compare_view(SCAN, FLEET, comparison.compared(SCAN, FLEET)))


def digest() -> bytes:
    view = digest_view(SCAN, FLEET, week_of(made_scan.day("2025-11-12"), "Europe/Oslo"))
    return html.digest_page(view, digest_drawings(view))


def proof() -> bytes:
    return html.proof_page(proof_view(made_proof(), made_scan.fleet(), DEFAULTS))


def parsed(page: bytes) -> ET.Element:
    parser = html5lib.HTMLParser(namespaceHTMLElements=False)
    tree: ET.Element = parser.parse(page.decode("utf-8"))
    assert parser.errors == []
    return tree


@pytest.mark.parametrize("make", [scan, compare, digest, proof])
def test_a_page_is_valid(make: Callable[[], bytes]) -> None:
    tree = parsed(make())
    ids = [node.get("id") for node in tree.iter() if node.get("id") is not None]
    assert len(ids) == len(set(ids))
    assert not any(node.get("role") for node in tree.iter("figure"))  # beside its caption it may have none


def rows(tree: ET.Element) -> Iterator[tuple[list[str], list[ET.Element]]]:
    for table in tree.iter("table"):
        if "cards" in table.get("class", ""):
            heads = ["".join(head.itertext()) for head in table.findall("thead/tr/th")]
            for row in table.findall("tbody/tr"):
                yield heads, list(row)


@pytest.mark.parametrize("make", [scan, compare, proof])
def test_a_cell_that_a_phone_shows_alone_has_its_columns_name(make: Callable[[], bytes]) -> None:
    found = list(rows(parsed(make())))
    assert found
    for heads, cells in found:
        assert len(cells) == len(heads)
        for head, cell in zip(heads, cells, strict=True):
            # the row's own name alone stands as the heading of its list
            assert cell.get("data-label", head if cell.tag == "th" else None) == head
