"""What is written in charts: the year, thousands, words over dots, long names."""

import re
from dataclasses import replace

import made_scan
import pandas as pd
import pytest

from sevenppb.detect.settings import DEFAULTS
from sevenppb.reports.charts import evidence, fleet, scatter, style
from sevenppb.reports.charts.section import drawings
from sevenppb.reports.numbers import Units
from sevenppb.reports.views import peers
from sevenppb.reports.views.compare import panels
from sevenppb.reports.views.scan import scan_view
from sevenppb.reports.views.series import feature_chart

SCAN = made_scan.fleet_scan()


def texts(drawn: str) -> list[str]:
    return re.findall(r"<(?:text|tspan)[^>]*>([^<]+)<", drawn)


@pytest.mark.parametrize(
    ("first", "last", "years"),
    [("2025-02-10", "2025-11-20", ["2025"]), ("2024-03-10", "2025-11-20", ["2024", "2025"])],
)
def test_an_axis_of_days_says_the_year_even_where_none_begins_on_it(
    first: str, last: str, years: list[str]
) -> None:
    daily = SCAN.vessels[0].daily.loc[pd.Timestamp(first, tz="UTC") : pd.Timestamp(last, tz="UTC")]
    chart = feature_chart(daily, "outlet_oxygen", "ppb", None, Units("si"), alt="")
    assert re.findall(r"\b20\d\d\b", " ".join(texts(evidence.draw(chart, "c")))) == years


def test_thousands_are_parted_as_in_the_tables() -> None:
    view = scan_view(made_scan.recorded(SCAN), made_scan.fleet(display="us"), DEFAULTS)
    assert view.sections[0].scatter is not None
    loads = texts(scatter.draw(view.sections[0].scatter, "s"))
    assert "300\u202f000" in loads
    assert not any("," in text for text in loads)


def test_a_word_stands_on_a_rim_of_the_pages_paper() -> None:
    view = scan_view(made_scan.recorded(SCAN), made_scan.fleet(), DEFAULTS)
    drawn = style.screen(drawings(view)["incident-1"][1].svg)
    for word in ("limit", "flagged", "work"):
        rim, ink = re.findall(rf"<text([^>]*)>{word}</text>", drawn)
        assert "var(--paper,#FFFFFF)" in re.findall(r'stroke="([^"]*)"', rim)
        assert 'fill="var(--ink,#1B1B1B)"' in ink


def test_long_names_that_begin_alike_stay_apart_beside_their_panels() -> None:
    names = ("Unit 3 north boiler house deaerator A", "Unit 3 north boiler house deaerator B", "X")
    renamed = [replace(vessel, id=name) for vessel, name in zip(SCAN.vessels[:3], names, strict=True)]
    weeks = peers.weekly(renamed, ["outlet_oxygen"])
    written = texts(fleet.draw(panels(weeks["outlet_oxygen"], "outlet_oxygen"), "p"))
    assert [text for text in written if "deaerator" in text] == ["…deaerator A", "…deaerator B"]
    assert written.count("Unit 3 north") == 2
    assert "X" in written
