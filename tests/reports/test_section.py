"""What an incident's section tells beside its charts: other causes, the load, the idle days."""

from dataclasses import replace

import made_scan
import pandas as pd
from made_scan import day, incident

from sevenppb.detect.incidents.incident import Alternative
from sevenppb.reports.numbers import Units
from sevenppb.reports.views import scatter, series
from sevenppb.reports.views.reasons import reasons

SI, US = Units("si"), Units("us")
SCAN = made_scan.fleet_scan()


def plain(text: str) -> str:
    return text.replace("\N{NO-BREAK SPACE}", " ").replace("\N{MINUS SIGN}", "-")


def told(*others: Alternative, units: Units = SI) -> list[str]:
    return [plain(text) for text in reasons(incident(1, "DA-1", alternatives=others), units)]


def test_an_alternative_is_contradicted_by_the_reading_that_fits_it_worst() -> None:
    leak, drift = incident(1, "DA-1").alternatives
    assert told(leak, drift) == [
        "air in-leakage (6 %): it would leave vent line temperature as it was, but that moved by -6.3 °C.",
        "sensor drift of vent line temperature (2 %): it would leave outlet oxygen as it was, "
        "but that moved by +4.9 ppb.",
    ]
    assert told(leak, units=US) == [
        "air in-leakage (6 %): it would leave vent line temperature as it was, but that moved by -11 °F."
    ]


def test_a_move_that_was_not_found_contradicts_too() -> None:
    flooded = Alternative("flooded-trays", None, 0.03, (("vent_temperature", -6.0), ("steam_flow", 0.5)))
    assert told(flooded) == [
        "flooded trays (3 %): it would have moved steam flow by about +1.8 t/h, but that moved by -0.18 t/h."
    ]


def test_where_nothing_contradicts_it_says_so() -> None:
    alike = Alternative("air-in-leakage", None, 0.4, (("vent_temperature", -6.1), ("outlet_oxygen", 4.4)))
    (line,) = told(alike)
    assert "no single reading contradicts it" in line
    (line,) = told(Alternative("unexplained", None, 0.05))
    assert "no known cause fits this one" in line


def test_the_scatter_parts_before_from_after_and_says_what_both_loads_show() -> None:
    found = scatter.scatter_chart(SCAN.vessels[0], incident(1, "DA-1"), "vent_temperature", SI)
    assert found is not None
    assert (found.load_unit, found.unit) == ("t/h", "°C")
    assert len(found.before) == scatter.MOST
    assert len(found.after) == (SCAN.vessels[0].daily.index > day("2025-09-09")).sum()
    middle = [sorted(y for _, y in side)[len(side) // 2] for side in (found.before, found.after)]
    assert middle[0] - middle[1] > 4.0
    assert "t/h, which both have, its median was 104." in plain(found.alt)


def test_days_after_the_end_are_neither_before_nor_after() -> None:
    over = incident(1, "DA-1", ended=day("2025-09-20"))
    found = scatter.scatter_chart(SCAN.vessels[0], over, "vent_temperature", SI)
    assert found is not None
    assert len(found.after) == 11
    brief = incident(1, "DA-1", ended=day("2025-09-12"))
    assert scatter.scatter_chart(SCAN.vessels[0], brief, "vent_temperature", SI) is None


def test_without_the_load_there_is_no_scatter() -> None:
    blind = replace(SCAN.vessels[0], daily=SCAN.vessels[0].daily.drop(columns="flow"))
    assert scatter.scatter_chart(blind, incident(1, "DA-1"), "vent_temperature", SI) is None


def test_outages_are_stretches_of_days_without_a_steady_hour() -> None:
    hours = [0.0, 5.0, 0.0, 0.0, 0.0, 3.0, 0.0, 0.0, 4.0, 0.0, 0.0, 0.0]
    daily = pd.DataFrame({"hours": hours}, index=pd.date_range("2025-01-01", periods=12, tz="UTC"))
    assert [(mark.start, mark.end) for mark in series.outages(daily)] == [
        ("2025-01-03", "2025-01-05"),
        ("2025-01-10", "2025-01-12"),
    ]
