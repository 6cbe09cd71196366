import csv
import dataclasses
import io
import re
import time
from pathlib import Path

import made_scan
import numpy as np
import pandas as pd

from sevenppb.detect.balance.health import FITTED
from sevenppb.detect.fleet import Fleet
from sevenppb.detect.incidents.incident import FleetScan, HealthParameter
from sevenppb.detect.scale import kept
from sevenppb.reports import compare_files, html
from sevenppb.reports.numbers import Units
from sevenppb.reports.views import compare, comparison, health, peers
from sevenppb.reports.views.compare import CompareView, Panels


def compare_view(scan: FleetScan, fleet: Fleet) -> CompareView:
    return compare.compare_view(scan, fleet, comparison.compared(scan, fleet))


def panels(scan: FleetScan, count: int) -> Panels:
    """Those of the first vessels' steam flow."""
    weeks = peers.weekly(list(scan.vessels[:count]), ["steam_flow"])
    return compare.panels(weeks["steam_flow"], "steam_flow")


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
    found = panels(scan, 3).series
    first = scan.vessels[0].daily["residual_steam_flow"] / scan.vessels[0].daily["band_steam_flow"]
    # 1 January 2024 is a Monday, so the first week is the first seven days
    assert found[0].weeks[0] == "2024-01-01"
    assert found[0].own[0] == round(float(np.median(first.iloc[:7])), 2)
    assert found[0].together[0] == sorted(series.own[0] or 0.0 for series in found)[1]


def test_two_vessels_are_not_a_fleet() -> None:
    scan = made_scan.fleet_scan()
    for series in panels(scan, 2).series:
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


def parts(cell: health.ParameterCell) -> list[str]:
    return [plain(text) for text in (cell.value, cell.interval, cell.over_usual)]


def test_health_is_the_running_size_or_what_would_have_been_seen() -> None:
    view = compare_view(made_scan.fleet_scan(), made_scan.fleet())
    lines = {
        cause: [(plain(line.cells[n].text), line.cells[n].found) for line in view.health.lines]
        for n, cause in enumerate(view.health.causes)
    }
    assert lines["choked vent"] == [
        ("62 % (50 to 74 %)", True),
        ("under 22 %", False),
        ("under 22 %", False),
    ]
    assert lines["sensor drift"][1] == (
        "outlet oxygen \N{MINUS SIGN}1.2 ppb (\N{MINUS SIGN}1.5 to \N{MINUS SIGN}0.9 ppb)",
        True,
    )
    assert lines["heat loss"][1] == ("under 42 kW", False)  # its incident has ended
    assert lines["fouled sprays"][0] == ("not visible", False)


def test_the_baselines_health_stands_side_by_side() -> None:
    scan = made_scan.fleet_scan()
    bare = dataclasses.replace(scan.vessels[2], health=())
    again = dataclasses.replace(scan, vessels=(*scan.vessels[:2], bare, scan.vessels[3]))
    view = compare_view(again, made_scan.fleet(display="us"))
    assert [line.vessel for line in view.baseline] == ["DA-1", "DA-2", "DA-3"]
    told = dict(zip(view.parameters, map(parts, view.baseline[0].cells), strict=True))
    # 52 kPa are 7.5 psi; 2.1 transfer units are 0.84 of the usual 2.5
    assert told == {
        "heat transfer over the sprays (transfer units)": ["2.1", "1.8 to 2.5", "0.84 ×"],
        "vent flow over water flow": ["0.21 %", "0.16 to 0.27 %", "2.1 ×"],
        "spray differential at usual flow": ["7.5 psi", "7.3 to 7.8 psi", "1.3 ×"],
    }  # no vessel's tags determine the inlet oxygen: the files tell of it, the page spares its column
    assert [cell.value for cell in view.baseline[2].cells] == ["–"] * 3
    table = comparison.compared(again, made_scan.fleet()).set_index("vessel")
    assert list(table.loc["DA-2", ["health_vent_share", "health_vent_share_low"]]) == [0.0021, 0.0016]
    assert list(table["health_inlet_gas_determined"])[:2] == [False, False]
    assert np.isnan(table.loc["DA-3", "health_vent_share"])


def test_what_one_vessels_tags_determine_is_a_column_of_all() -> None:
    scan = made_scan.fleet_scan()
    first, second, *rest = scan.vessels
    gas = [dataclasses.replace(row, determined=True) for row in second.health if row.parameter == "inlet_gas"]
    vessels = (first, dataclasses.replace(second, health=tuple(gas)), *rest)
    view = compare_view(dataclasses.replace(scan, vessels=vessels), made_scan.fleet())
    own = dict(zip(view.parameters, map(parts, view.baseline[0].cells), strict=True))
    assert own["inlet oxygen"] == ["not determined", "", ""]


def test_a_parameter_is_no_more_precise_than_its_interval() -> None:
    scan = made_scan.fleet_scan()
    loss = HealthParameter("heat_loss", 3e-9, 0.0, 0.16, "K", 0.2, determined=True)
    vessel = dataclasses.replace(scan.vessels[0], health=(loss,))
    (cell,) = health.at_baseline(vessel, ("heat_loss",), Units("si")).cells
    assert parts(cell) == ["0.00 °C", "0.00 to 0.16 °C", "under 0.1 ×"]


def test_every_fitted_parameter_has_its_words() -> None:
    assert set(health.LABELS) == {row[0] for row in FITTED}


def test_who_leaves_the_others_is_said_with_the_week() -> None:
    view = compare_view(made_scan.fleet_scan(), made_scan.fleet())
    rows = [row.cells for row in view.apart if row.cells[0].text == "DA-3"]
    # two of three are faulty in the same way, so it is the healthy one that stands apart from their median
    assert rows
    for _, _, distance, since in rows:
        assert re.fullmatch(r"[+−]\d+(\.\d)?", distance.text)
        assert abs(float(distance.key)) >= peers.APART
        assert pd.Timestamp(float(since.key), unit="s").strftime("%-d %b %Y") == plain(since.text)
        assert since.text.endswith("2025")


def test_levels_are_compared_at_equal_load() -> None:
    scan, fleet = made_scan.fleet_scan(), made_scan.fleet()
    table = comparison.compared(scan, fleet).set_index("vessel")
    share = scan.vessels[0].daily["flow"].iloc[-90:] / 50.0
    assert table.loc["DA-1", "load_share"] == share.median()
    load = table["load_share"].median()
    days = scan.vessels[0].daily.loc[
        share.index[(share - load).abs() <= 0.1 * load], "observed_outlet_oxygen"
    ]
    assert 5 <= len(days) < 90
    assert table.loc["DA-1", "outlet_oxygen_at_equal_load"] == days.median()
    assert np.isnan(table.loc["DA-4", "outlet_oxygen_at_equal_load"])
    view = compare_view(scan, fleet)
    cells = dict(zip(("vessel", "load", "subcooling", "oxygen"), view.equal[0].cells, strict=False))
    assert plain(cells["oxygen"].text).endswith(" ppb")
    elsewhere = scan.vessels[1].daily.assign(flow=scan.vessels[1].daily["flow"] * 2)
    unlike = dataclasses.replace(scan.vessels[1], daily=elsewhere)
    deaf = dataclasses.replace(
        scan.vessels[2],
        daily=scan.vessels[2].daily.drop(columns=["observed_outlet_oxygen", "residual_outlet_oxygen"]),
    )
    odd = compare_view(
        dataclasses.replace(scan, vessels=(scan.vessels[0], unlike, deaf, scan.vessels[3])), fleet
    )
    assert odd.equal[1].cells[2].text == "too few days at that load"
    assert odd.equal[2].cells[3].text == "not recorded"
    us = compare_view(scan, made_scan.fleet(display="us"))
    assert plain(us.equal[0].cells[2].text).endswith(" °F")


def test_what_still_runs_costs_and_what_has_ended_does_not() -> None:
    scan = made_scan.fleet_scan()
    table = comparison.compared(scan, made_scan.fleet()).set_index("vessel")
    assert table.loc["DA-2", "steam_lost_kg_h"] == 0.0  # the heat loss has ended
    heat = dataclasses.replace(scan.vessels[1].incidents[1], ended=None)
    running = dataclasses.replace(scan.vessels[1], incidents=(scan.vessels[1].incidents[0], heat))
    again = dataclasses.replace(scan, vessels=(scan.vessels[0], running, *scan.vessels[2:]))
    view = compare_view(again, made_scan.fleet())
    assert [plain(cell.text) for cell in view.equal[1].cells[5:]] == ["200 kg/h", "48 000 EUR"]


def test_the_table_is_safe_in_a_spreadsheet_and_whole_as_parquet() -> None:
    name = "=1+1"
    started = time.process_time()
    files = compare_files.compare_files(made_scan.fleet_scan(first=name), made_scan.fleet(first=name))
    assert time.process_time() - started < 8  # two seconds a vessel
    rows = list(csv.DictReader(io.StringIO(files["compare.csv"].decode("utf-8-sig"))))
    assert [row["vessel"] for row in rows] == ["'=1+1", "DA-2", "DA-3", "DA-4"]
    assert float(rows[0]["vent_temperature_move"]) < -10
    stored = pd.read_parquet(io.BytesIO(files["compare.parquet"]))
    assert list(stored["vessel"]) == [name, "DA-2", "DA-3", "DA-4"]
    assert list(stored.columns) == list(rows[0])


def plain(text: str) -> str:
    return text.replace("\N{NO-BREAK SPACE}", " ").replace("\N{NARROW NO-BREAK SPACE}", " ")


def test_results_that_stay_in_their_files_compare_alike(tmp_path: Path) -> None:
    scan = made_scan.fleet_scan(days=200)
    vessels = []
    for vessel in scan.vessels:
        place = tmp_path / f"{vessel.id}.parquet"
        place.write_bytes(kept.encoded(vessel, "a stamp"))
        vessels.append(kept.opened(place))
    held = dataclasses.replace(scan, vessels=tuple(vessels))
    assert compare_view(held, made_scan.fleet()) == compare_view(scan, made_scan.fleet())


def test_a_vent_loss_below_zero_is_not_told() -> None:
    scan = made_scan.fleet_scan()
    low, high = (
        dataclasses.replace(vessel, daily=vessel.daily.assign(vent_loss=loss))
        for vessel, loss in zip(scan.vessels[:2], (-0.15, 0.15), strict=True)
    )
    again = dataclasses.replace(scan, vessels=(low, high, *scan.vessels[2:]))
    assert comparison.compared(again, made_scan.fleet())["vent_loss_share"].isna().tolist() == [
        True,
        False,
        True,
        True,
    ]
    told = [row.cells[4].text for row in compare_view(again, made_scan.fleet()).equal]
    assert (told[0], told[2]) == ("not told by these meters", "–")
    assert plain(told[1]).endswith(" %")
