import dataclasses
import re

import made_scan
import numpy as np

from sevenppb.reports import html
from sevenppb.reports.views import compare
from sevenppb.reports.views.compare import compare_view


def test_every_vessel_has_a_row_with_its_most_urgent_running_incident() -> None:
    view = compare_view(made_scan.fleet_scan(), made_scan.fleet())
    told = [[cell.text for cell in row.cells] for row in view.summary]
    assert [row[0] for row in told] == ["DA-1", "DA-2", "DA-3", "DA-4"]
    assert told[1][4:] == ["1", "sensor drift of outlet oxygen", "0.31"]  # the heat loss has ended
    assert told[2][4:] == ["0", "–", "–"]
    assert told[3][1] == "failed"


def test_recent_moves_stand_out_where_they_are_two_uncertainties() -> None:
    view = compare_view(made_scan.fleet_scan(), made_scan.fleet())
    vent = view.features.index("vent line temperature")
    stands_out = {row.vessel: row.cells[vent].stands_out for row in view.levels}
    assert stands_out == {"DA-1": True, "DA-2": True, "DA-3": False}
    # the fault moves it 6.3 degC and a day's uncertainty is 0.5
    assert abs(view.levels[0].cells[vent].key - -6.3 / 0.5) < 1


def test_weekly_medians_and_the_median_of_all() -> None:
    scan = made_scan.fleet_scan()
    found = compare.panels(list(scan.vessels[:3]), "steam_flow").series
    first = scan.vessels[0].daily["residual_steam_flow"] / scan.vessels[0].daily["band_steam_flow"]
    # 1 January 2024 is a Monday, so the first week is the first seven days
    assert found[0].weeks[0] == "2024-01-01"
    assert found[0].own[0] == round(float(np.median(first.iloc[:7])), 2)
    assert found[0].together[0] == sorted(series.own[0] or 0.0 for series in found)[1]


def test_two_vessels_are_not_a_fleet() -> None:
    scan = made_scan.fleet_scan()
    for series in compare.panels(list(scan.vessels[:2]), "steam_flow").series:
        assert set(series.together) == {None}


def test_a_vessel_without_a_feature_has_a_dash_and_no_panel() -> None:
    scan = made_scan.fleet_scan()
    bare = scan.vessels[2].daily.drop(columns=["residual_vent_temperature"])
    vessels = (*scan.vessels[:2], dataclasses.replace(scan.vessels[2], daily=bare))
    view = compare_view(dataclasses.replace(scan, vessels=vessels), made_scan.fleet())
    vent = view.features.index("vent line temperature")
    assert view.levels[2].cells[vent].level == "–"
    assert [series.vessel for series in view.panels[vent].series] == ["DA-1", "DA-2"]


def test_the_page_is_escaped_and_names_every_vessel() -> None:
    name = "<script>alert(1)</script>"
    view = compare_view(made_scan.fleet_scan(first=name), made_scan.fleet(first=name))
    text = html.compare_page(view).decode("utf-8")
    assert "<script>alert" not in text
    assert text.count("&lt;script&gt;alert(1)&lt;/script&gt;") >= 3
    assert " style=" not in re.sub(r"<style>.*?</style>", "", text, flags=re.DOTALL)


def test_no_vessel_scanned_still_makes_a_page() -> None:
    scan = made_scan.fleet_scan()
    failed = dataclasses.replace(scan, vessels=scan.vessels[3:], incidents=(), start=None, until=None)
    text = html.compare_page(compare_view(failed, made_scan.fleet())).decode("utf-8")
    assert "DA-4" in text
    assert "The last four weeks" not in text
