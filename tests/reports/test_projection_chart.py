"""The way to the limit, drawn."""

import dataclasses
import xml.etree.ElementTree as ET

import made_scan

from sevenppb.reports.charts import projection as drawing
from sevenppb.reports.numbers import Units
from sevenppb.reports.views.projection import ProjectionChart, projection_chart

LIMITS = {"outlet_oxygen": 7.0}


def chart(**changes: object) -> ProjectionChart | None:
    incident = made_scan.incident(1, "DA-1", **changes)
    return projection_chart(made_scan.fleet_scan().vessels[0], incident, LIMITS, Units("si"))


def test_it_shows_readings_path_limit_and_the_day_with_its_interval() -> None:
    found = chart()
    assert found is not None
    assert found.unit == "ppb"
    assert (found.limit, found.ahead[1].value) == (7.0, 6.35)
    assert found.reached is not None
    assert found.reached.start == "2026-01-20"
    assert found.interval is not None
    assert (found.interval.start, found.interval.end) == ("2026-01-08", "2026-02-11")
    assert [found.read[n][0] for n in (0, -1)] == ["2025-09-02", "2025-12-31"]
    assert "reaches its limit about 20 Jan 2026 (8 Jan to 11 Feb 2026)" in found.alt
    svg = "{http://www.w3.org/2000/svg}"
    texts = {"".join(node.itertext()) for node in ET.fromstring(drawing.draw(found, "p")).iter(f"{svg}text")}
    assert {"ppb", "limit", "limit reached"} <= texts


def test_an_end_out_of_sight_is_cut_at_the_last_day_drawn() -> None:
    limit = made_scan.incident(1, "DA-1").limit_reached
    assert limit is not None
    found = chart(limit_reached=dataclasses.replace(limit, high=None))
    assert found is not None
    assert found.interval is not None
    assert found.interval.end == found.ahead[-1].day
    assert "to beyond a year" in found.alt


def test_a_limit_passed_already_has_no_day_ahead() -> None:
    limit = made_scan.incident(1, "DA-1").limit_reached
    assert limit is not None
    passed = chart(limit_reached=dataclasses.replace(limit, at=made_scan.day("2025-12-20")))
    assert passed is not None
    assert (passed.reached, passed.interval) == (None, None)
    assert "passed its limit on 20 Dec 2025" in passed.alt
    assert passed.title == "Outlet oxygen, past its limit"


def test_without_a_limit_in_sight_nothing_is_on_its_way() -> None:
    assert chart(limit_reached=None) is None


def test_nothing_projected_nothing_drawn() -> None:
    assert chart(projection=()) is None
