import json
import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import altair as alt
import jsonschema
import made_scan
import numpy as np
import pandas as pd
import pytest

from sevenppb.detect.incidents.incident import Magnitude
from sevenppb.detect.settings import DEFAULTS
from sevenppb.reports.charts import evidence, projection, proof, scatter, signature, style, thin, zoom
from sevenppb.reports.charts import fleet as fleet_chart
from sevenppb.reports.numbers import Units
from sevenppb.reports.views import comparison
from sevenppb.reports.views.compare import compare_view
from sevenppb.reports.views.proof import Dot, TrialsChart
from sevenppb.reports.views.scan import scan_view
from sevenppb.reports.views.series import SignatureChart, SignatureRow, evidence_charts, feature_chart

HELD = Magnitude("outlet oxygen held at", 7.6, float("nan"), float("nan"), "ppb")
SECTION = scan_view(made_scan.recorded(made_scan.fleet_scan()), made_scan.fleet(), DEFAULTS).sections[0]


def test_thinning_keeps_every_spike() -> None:
    rng = np.random.default_rng(3)
    observed = rng.standard_normal(3_650)
    spikes = np.arange(20) * 180 + rng.integers(0, 100, 20)
    observed[spikes] += np.where(np.arange(20) % 2, 30, -30)
    kept = thin.kept(tuple(map(float, observed)), (0.0,) * 3_650)
    assert len(kept) <= thin.MOST
    assert set(spikes) <= set(kept)
    assert kept == sorted(kept)


def test_thinning_leaves_a_short_series_whole_and_bears_gaps() -> None:
    assert thin.kept((1.0, None, 2.0), (1.0, 1.0, None)) == [0, 1, 2]
    kept = thin.kept((None,) * 1_000, (1.0,) * 1_000)
    assert 0 < len(kept) <= thin.MOST


def test_the_strongest_moves_are_charted() -> None:
    assert [chart.feature for chart in SECTION.charts] == ["vent_temperature", "outlet_oxygen", "subcooling"]
    assert [chart.unit for chart in SECTION.charts] == ["°C", "ppb", "°C"]


def test_a_stuck_sensor_is_charted_by_its_own_reading() -> None:
    scan = made_scan.fleet_scan()
    stuck = made_scan.incident(
        1, "DA-1", cause="sensor-stuck", role="outlet_oxygen", evidence=(), magnitude=HELD
    )
    charts = evidence_charts(scan.vessels[0], stuck, {}, (), Units("si"))
    assert [chart.feature for chart in charts] == ["outlet_oxygen"]
    assert "outlet oxygen held at 7.6" in charts[0].alt
    cut = scan.vessels[0].daily.copy()
    cut.loc[stuck.onset :, "observed_outlet_oxygen"] = np.nan
    (held,) = evidence_charts(replace(scan.vessels[0], daily=cut), stuck, {}, (), Units("si"))
    assert set(held.observed[-100:]) == {7.6}  # as it stood on the screen, though the scan cut it
    elsewhere = made_scan.incident(1, "DA-1", cause="sensor-stuck", role="level", evidence=(), magnitude=HELD)
    assert evidence_charts(scan.vessels[0], elsewhere, {}, (), Units("si")) == ()


def test_each_chart_has_its_unit_on_the_axis_and_a_dot_a_day() -> None:
    chart = SECTION.charts[1]
    drawn = ET.fromstring(evidence.draw(chart, "c"))
    texts = ["".join(node.itertext()) for node in drawn.iter("{http://www.w3.org/2000/svg}text")]
    assert "ppb" in texts
    assert {"flagged", "limit", "work"} <= set(texts)
    paths = [node.get("d", "") for node in drawn.iter("{http://www.w3.org/2000/svg}path")]
    days_drawn = [row for row in thin.rows(chart) if row["observed"] is not None]
    assert max(path.count("Z") for path in paths) == len(days_drawn)


def test_days_before_are_dashes_and_days_after_dots() -> None:
    assert SECTION.scatter is not None
    drawn = ET.fromstring(scatter.draw(SECTION.scatter, "s"))
    paths = list(drawn.iter("{http://www.w3.org/2000/svg}path"))
    caps = {
        path.get("stroke-linecap"): path.get("d", "")
        for path in paths
        if path.get("stroke-width") in ("2", "3.6")
    }
    assert caps["butt"].count("M") == len(SECTION.scatter.before)
    assert caps["round"].count("M") == len(SECTION.scatter.after)


def test_outages_have_a_bar_of_their_own() -> None:
    with_outage, without = SECTION.charts[0], replace(SECTION.charts[0], outages=())
    assert [mark.start for mark in with_outage.outages] == ["2024-07-19"]
    drawn = [evidence.draw(chart, "c").count(f"v{evidence.FOOT}h") for chart in (with_outage, without)]
    assert drawn == [1, 0]


def test_drawings_share_a_page_without_sharing_ids_or_styles() -> None:
    drawn = [evidence.draw(SECTION.charts[0], name) for name in ("one", "two")]
    ids = [re.findall(r'\bid="([^"]+)"', text) for text in drawn]
    assert not set(ids[0]) & set(ids[1])
    for text in drawn:
        assert " style=" not in text
        used = re.findall(r"url\(#([^)]+)\)", text)
        assert set(used) <= set(re.findall(r'\bid="([^"]+)"', text))


def test_on_screen_every_colour_follows_the_page() -> None:
    text = style.screen(evidence.draw(SECTION.charts[0], "c"))
    colours = set(re.findall(r'"(#[0-9a-fA-F]{3,8}|rgb[^"]*)"', text))
    assert colours == set()
    assert '"var(--observed,#0072B2)"' in text


def test_a_chart_to_zoom_holds_each_day_once_and_filters_by_the_chosen_ones() -> None:
    chart = SECTION.charts[0]
    specified = evidence.specification(chart)
    before = json.dumps(specified)
    payload = zoom.payload(specified)
    assert json.dumps(specified) == before
    assert set(payload["spec"]["datasets"]) == {"onset", "flag", "work", "outages"}
    assert payload["start"] == "2024-01-01"
    assert len(payload["columns"]["day"]) == len(thin.rows(chart)) == len(payload["columns"]["observed"])
    filtered = [layer["data"]["name"] for layer in payload["spec"]["layer"] if "transform" in layer]
    assert filtered == ["days", "days", "dots"]
    assert all(layer["mark"]["clip"] for layer in payload["spec"]["layer"])
    assert not re.search(r'"#[0-9A-Fa-f]{6}"', json.dumps(payload))


def test_the_chart_library_cannot_end_its_own_script() -> None:
    assert "</script" not in zoom.library()


def test_a_hostile_label_stays_text() -> None:
    name = "</svg><script>alert(1)</script>"
    drawn = signature.draw(SignatureChart("t", "a", (SignatureRow(name, 2.0, None),)), "s")
    assert "<script" not in drawn
    ET.fromstring(drawn)


def test_predicted_moves_are_in_the_found_moves_standard_errors() -> None:
    assert SECTION.signature is not None
    by_label = {row.label: row for row in SECTION.signature.rows}
    vent = by_label["vent line temperature"]
    # evidence: expected 104.2, observed 97.9, z -8.1, so one standard error is 6.3 / 8.1; predicted -6.0
    assert vent.predicted is not None
    assert abs(vent.predicted - -6.0 / (6.3 / 8.1)) < 0.01
    assert by_label["shell pressure"].predicted is None


def test_single_wild_days_of_what_is_expected_do_not_squeeze_the_readings() -> None:
    """Readings of 7 to 12 where about 3 was expected: both in sight, what lies beyond at the edge."""
    days = pd.date_range("2025-01-01", periods=100, tz="UTC")
    read, told = np.linspace(7.0, 12.0, 100), np.full(100, 3.0)
    told[::20] = -400.0
    daily = pd.DataFrame(
        {
            "observed_outlet_oxygen": read,
            "expected_outlet_oxygen": told,
            "band_outlet_oxygen": 0.5,
            "hours": 24.0,
        },
        index=days,
    )
    chart = feature_chart(daily, "outlet_oxygen", "ppb", None, Units("si"), alt="")
    assert (chart.observed[0], chart.observed[-1]) == (7.0, 12.0)
    assert chart.expected[1] == 3.0
    assert (chart.low[1], chart.high[1]) == (2.0, 4.0)
    assert chart.expected[0] == chart.low[0] == 3.0 - 4.5  # half of what both span, further down


def test_every_specification_keeps_to_the_librarys_schema() -> None:
    """They are built without the check, which takes longer than drawing."""
    scan, fleet = made_scan.fleet_scan(), made_scan.fleet()
    view = compare_view(scan, fleet, comparison.compared(scan, fleet))
    assert SECTION.scatter is not None
    assert SECTION.signature is not None
    assert SECTION.projection is not None
    trials = TrialsChart(
        "Choked vent", "", "vent area lost (%)", 90, (Dot(30.0, 12.0, found=True),), 20.0, 40.0
    )
    for made in (
        evidence.specification(SECTION.charts[0]),
        scatter.specification(SECTION.scatter),
        signature.specification(SECTION.signature),
        projection.specification(SECTION.projection),
        fleet_chart.specification(view.panels[0]),
        proof.specification(trials),
    ):
        # no background at all is drawn, though the schema does not know it
        alt.Chart.from_dict({**made, "config": {**made["config"], "background": "white"}})
    broken = evidence.specification(SECTION.charts[0])
    broken["layer"][0]["mark"]["opacity"] = "half"
    with pytest.raises(jsonschema.ValidationError):
        alt.Chart.from_dict(broken)
