"""What an incident's section tells beside its charts: other causes, the load, the idle days."""

from dataclasses import replace

import made_scan
import pandas as pd
import pytest
from made_scan import day, incident

from sevenppb.detect.causes import CAUSES
from sevenppb.detect.incidents.incident import Alternative, Consequence, Evidence, Incident, Magnitude
from sevenppb.reports import words
from sevenppb.reports.numbers import Units
from sevenppb.reports.views import scatter, series
from sevenppb.reports.views.checks import cautions, checks
from sevenppb.reports.views.reasons import reasons
from sevenppb.reports.views.scan import period
from sevenppb.reports.views.section import section
from sevenppb.reports.views.vessel import readings_view

SI, US = Units("si"), Units("us")
SCAN = made_scan.fleet_scan()


def plain(text: str) -> str:
    return text.replace("\N{NO-BREAK SPACE}", " ").replace("\N{MINUS SIGN}", "-")


def told(*others: Alternative, units: Units = SI) -> list[str]:
    return [plain(text) for text in reasons(incident(1, "DA-1", alternatives=others), units)]


def test_an_alternative_is_contradicted_by_the_reading_that_fits_it_worst() -> None:
    leak, drift = incident(1, "DA-1").alternatives
    assert told(leak, drift) == [
        "air in-leakage (6 %): would leave vent line temperature as it was, but that moved by -6.3 °C.",
        "sensor drift of vent line temperature (2 %): would leave outlet oxygen as it was, "
        "but that moved by +4.9 ppb.",
    ]
    assert told(leak, units=US) == [
        "air in-leakage (6 %): would leave vent line temperature as it was, but that moved by -11 °F."
    ]


def test_a_move_that_was_not_found_contradicts_too() -> None:
    flooded = Alternative("flooded-trays", None, 0.03, (("vent_temperature", -6.0), ("steam_flow", 0.5)))
    assert told(flooded) == [
        "flooded trays (3 %): would have moved steam flow by about +1.8 t/h, but that moved by -0.18 t/h."
    ]


def test_where_nothing_contradicts_it_says_so() -> None:
    alike = Alternative("air-in-leakage", None, 0.4, (("vent_temperature", -6.1), ("outlet_oxygen", 4.4)))
    (line,) = told(alike)
    assert "contradicted by no single reading beyond" in line
    (line,) = told(Alternative("unexplained", None, 0.05))
    assert "no known cause fits this one" in line


def test_what_speaks_alike_against_several_stands_once() -> None:
    alike = (("vent_temperature", -6.1), ("outlet_oxygen", 4.4))
    others = [Alternative(name, None, 0.2, alike) for name in ("air-in-leakage", "tray-damage")]
    flooded = Alternative("flooded-trays", None, 0.03, (("vent_temperature", -6.0), ("steam_flow", 0.5)))
    first, second = told(others[0], flooded, others[1])
    assert first.startswith("air in-leakage (20 %), damaged trays (20 %): contradicted by no single")
    assert second.startswith("flooded trays (3 %): would have moved steam flow")


def test_a_move_that_rounding_may_hide_contradicts_nothing() -> None:
    still = Alternative("sensor-drift", "vent_temperature", 0.3, (("steam_valve", 0.0),))
    for observed, contradicts in ((0.469, False), (0.44, True)):
        valve = Evidence("steam_valve", "1", 0.47, observed, -2.5, observed - 0.47)
        (line,) = reasons(incident(1, "DA-1", evidence=(valve,), alternatives=(still,)), SI)
        assert ("would leave steam valve opening as it was" in line) is contradicts


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


def facts(changed: Incident) -> dict[str, str]:
    fleet = made_scan.fleet()
    found = section(SCAN.vessels[0], changed, fleet.vessels[0], fleet.cost, SI, SCAN.until, drawn=False)
    return {label: plain(text) for label, text in found.facts}


NO_MORE = Consequence(0.0, 0.0, None)


def test_a_fault_that_comes_and_goes_tells_its_days_over_the_limit() -> None:
    told = facts(
        incident(1, "DA-1", shape="intermittent", limit_reached=None, projection=(), consequence=NO_MORE)
    )
    days = SCAN.vessels[0].daily.loc[day("2025-09-03") :, "observed_outlet_oxygen"]
    assert told["Limit"] == (
        "outlet oxygen is on average lately not over it, "
        f"though it was on {(days > 7.0).sum()} of {days.count()} days since the onset, last on 31 Dec 2025"
    )
    most = f"{days.max() - 7.0:.1f}"
    assert (
        told["Consequence"]
        == f"outlet oxygen over its limit on some days since the onset, by up to {most} ppb"
    )


OXYGEN = Evidence("outlet_oxygen", "ppb", 5.2, 10.1, 6.4, 4.4)


def limit_of(**changes: object) -> str:
    silent = {"limit_reached": None, "projection": (), "consequence": NO_MORE, "evidence": (OXYGEN,)}
    return facts(incident(1, "DA-1", **{**silent, **changes}))["Limit"]


def test_days_over_the_limit_go_with_a_change_that_raises_oxygen() -> None:
    ended = limit_of(ended=day("2025-12-20"))
    assert ended.startswith("outlet oxygen was on average in its last weeks not over it, though it was on ")
    assert limit_of(consequence=Consequence(3.1, 0.0, None)).startswith("outlet oxygen was over it on ")
    none = replace(OXYGEN, predicted=0.0)
    still = replace(none, observed=5.3, z=0.1)
    starved = limit_of(cause="steam-starvation", evidence=(still,))
    assert starved == "not projected: outlet oxygen has not risen with it, nor should it by the balance"
    over = limit_of(cause="steam-starvation", evidence=(still,), consequence=Consequence(0.2, 0.0, None))
    assert over == "outlet oxygen is on average over it, though it has not risen with this change"
    risen = limit_of(cause="steam-starvation", evidence=(none,))
    assert "though it was on" in risen  # whatever the cause should do
    apart = limit_of(cause="sensor-drift", role="storage_temperature", evidence=(none,))
    assert apart == "not projected: no health of the vessel is known to have moved"
    high = limit_of(cause="sensor-drift", role="outlet_oxygen")
    assert high == apart
    low = replace(OXYGEN, predicted=-4.4)
    assert "though it was on" in limit_of(cause="sensor-drift", role="outlet_oxygen", evidence=(low,))
    assert "though it was on" in limit_of(cause="unexplained", evidence=(none,))
    fallen = replace(OXYGEN, observed=3.0, z=-6.4)
    assert "though" not in limit_of(cause="unexplained", evidence=(fallen,))


@pytest.mark.parametrize(("inlet", "rises"), [(3300.0, True), (2620.0, False)])
def test_more_oxygen_in_the_inlet_raises_what_is_expected_at_the_outlet(inlet: float, rises: bool) -> None:
    as_expected = Evidence("outlet_oxygen", "ppb", 3.2, 3.17, -1.4, 0.0)  # for inlet oxygen as read
    risen = Evidence("inlet_oxygen", "ppb", 2600.0, inlet, 23.0, inlet - 2600.0)
    leak = limit_of(cause="air-in-leakage", evidence=(as_expected, risen))
    assert ("though it was on" in leak) is rises
    assert "not projected" in limit_of(cause="choked-vent", evidence=(as_expected, risen))


@pytest.mark.parametrize(("added", "told"), [(0.46, "0.5 ppb"), (0.0, "nothing")])
def test_oxygen_that_was_over_before_tells_what_the_change_adds(added: float, told: str) -> None:
    over = {"limit_reached": None, "projection": (), "consequence": Consequence(9.46, 0.0, None, added)}
    found = facts(incident(1, "DA-1", **over))
    assert found["Limit"] == "outlet oxygen was over its limit already before"
    assert found["Consequence"] == f"outlet oxygen 9.5 ppb over its limit (the change adds {told})"
    lying = facts(incident(1, "DA-1", cause="sensor-drift", role="outlet_oxygen", **over))
    assert lying["Consequence"] == "outlet oxygen 9.5 ppb over its limit"


def test_a_steam_valve_near_its_end_is_a_consequence() -> None:
    def told(**rest: object) -> str:
        consequence = Consequence(None, 0.0, None, valve_open=0.976)
        return facts(incident(1, "DA-1", cause="steam-starvation", consequence=consequence, **rest))[
            "Consequence"
        ]

    assert told() == "the steam valve is 98 % open at high load, with little left of its travel"
    assert told(ended=day("2025-12-20")).startswith("the steam valve was 98 % open")


@pytest.mark.parametrize(
    ("cause", "lost", "told"),
    [
        (
            "steam-starvation",
            30_000.0,
            "shell pressure is down to 11.7 kPa gauge on its lowest days, from 41.7 kPa gauge before, and the water to 103.4 °C, from 109.4 °C",
        ),
        ("steam-starvation", 1_000.0, None),
        ("choked-vent", 30_000.0, None),
    ],
)
def test_a_starved_shell_is_a_consequence(cause: str, lost: float, told: str | None) -> None:
    daily = SCAN.vessels[2].daily.copy()
    steady = {"shell_over_air": 41_675.0, "storage_temperature": 109.4}
    daily[list(steady)] = list(steady.values())
    daily.loc["2025-12-26":, list(steady)] = [41_675.0 - lost, 103.4]  # 6 of the last 28 days
    no_oxygen = incident(
        1, "DA-3", cause=cause, limit_reached=None, projection=(), evidence=(), consequence=NO_MORE
    )
    fleet = made_scan.fleet()
    vessel = replace(SCAN.vessels[2], daily=daily)
    found = section(vessel, no_oxygen, fleet.vessels[2], fleet.cost, SI, SCAN.until, drawn=False)
    nothing = "none in its last weeks: outlet oxygen on average not over its limit, no steam lost"
    assert plain(dict(found.facts)["Consequence"]) == (told or nothing)


def test_a_stuck_sensor_neither_projects_nor_denies_that_oxygen_is_recorded() -> None:
    stuck = incident(
        1, "DA-1", cause="sensor-stuck", role="outlet_oxygen", evidence=(), limit_reached=None, projection=(),
        magnitude=Magnitude("outlet oxygen held at", 9.1, 9.1, 9.1, "ppb"),
        consequence=Consequence(None, 0.0, None),
    )  # fmt: skip
    told = facts(stuck)
    assert "recorded" not in told["Limit"]
    assert told["Consequence"] == "what outlet oxygen really was, is not known"


def test_what_is_no_fault_of_the_vessel_is_not_projected() -> None:
    early = {"onset": day("2026-01-02"), "limit_reached": None, "projection": (), "consequence": NO_MORE}
    told = facts(incident(1, "DA-1", cause="sensor-drift", role="storage_temperature", **early))
    assert told["Limit"] == "not projected: no health of the vessel is known to have moved"


def test_evidence_shows_a_difference_that_rounding_would_hide() -> None:
    hardly = Evidence("steam_valve", "1", 0.791, 0.787, -8.8, float("nan"))
    fleet = made_scan.fleet()
    found = section(
        SCAN.vessels[0],
        incident(1, "DA-1", evidence=(hardly,)),
        fleet.vessels[0],
        None,
        SI,
        None,
        drawn=False,
    )
    (row,) = found.evidence
    assert (plain(row.expected), plain(row.observed)) == ("79.1 %", "78.7 %")
    assert (plain(row.difference), plain(row.z)) == ("-0.4 %", "-8.8")
    within_error = replace(hardly, z=-1.5)  # hides nothing that is known to be there
    assert [plain(text) for text in words.pair(within_error, SI)] == ["79 %", "79 %"]


def test_days_read_are_those_of_the_plants_clock() -> None:
    moments = {"start": day("2025-01-01T06:00"), "until": day("2026-01-01T05:50")}
    assert period(replace(SCAN, **moments), "America/Chicago") == "1 Jan to 31 Dec 2025"
    span = replace(SCAN.vessels[0], span=tuple(moments.values()))
    assert ("Span", "1 Jan to 31 Dec 2025") in readings_view(span, 1, US, "America/Chicago").facts


def test_the_baselines_last_day_is_the_last_that_was_in_it() -> None:
    assert SCAN.vessels[0].baseline == (day("2024-01-01"), day("2024-04-29"))  # the day after
    assert ("Baseline", "1 Jan to 28 Apr 2024") in readings_view(SCAN.vessels[0], 1, SI, "UTC").facts


def test_a_move_that_the_named_cause_would_make_and_that_is_not_there_speaks_against_it() -> None:
    def first(found: float, z: float, predicted: float) -> str:
        steam = Evidence("steam_flow", "kg/s", 3.66, 3.66 + found, z, predicted)
        drift = Alternative("sensor-drift", "storage_temperature", 0.23, (("steam_flow", 0.0),))
        row = incident(
            1, "DA-1", cause="heat-loss", confidence=0.74, evidence=(steam,), alternatives=(drift,)
        )
        return plain(reasons(row, SI)[0])

    missing = "heat loss (74 %): would have moved steam flow by about +0.10 t/h, but that hardly moved."
    assert first(-0.0012, -0.2, 0.029) == missing
    assert first(0.018, 3.0, 0.029).startswith("sensor drift")  # most of it is there
    assert first(-0.0012, -0.2, 0.011).startswith("sensor drift")  # within error
    assert first(-0.0001, -0.2, 0.01).startswith("sensor drift")  # less than a digit of what is shown
    assert first(-0.06, -10.0, 0.0).startswith(
        "sensor drift"
    )  # moved otherwise, which a likelier one explains


def test_checks_of_all_likely_causes_stand_where_none_is_told() -> None:
    leak, trays = (
        Alternative(name, None, share) for name, share in (("air-in-leakage", 0.3), ("tray-damage", 0.2))
    )
    row = incident(1, "DA-1", confidence=0.38, alternatives=(leak, trays))
    lines = checks(row)
    plume = "Look at the vent outlet from a safe place: is the plume as strong as usual? (choked vent)"
    assert lines[0] == plume
    assert {line.rpartition(" (")[2] for line in lines} == {
        "choked vent)",
        "air in-leakage)",
        "damaged trays)",
    }
    assert (
        len(lines)
        == len(set(lines))
        == sum(len(CAUSES[name].checks) for name in (row.cause, leak.cause, trays.cause))
    )
    assert set(cautions(row)) == {
        line for name in (row.cause, leak.cause, trays.cause) for line in CAUSES[name].cautions
    }
    assert checks(incident(1, "DA-1")) == CAUSES["choked-vent"].checks


def test_a_check_that_serves_two_likely_causes_stands_once() -> None:
    worn = Alternative("worn-sprays", None, 0.4)
    lines = checks(incident(1, "DA-1", cause="fouled-sprays", confidence=0.45, alternatives=(worn,)))
    differential, *rest = lines
    assert differential == CAUSES["worn-sprays"].checks[0]  # of both, so without a label
    assert differential in CAUSES["fouled-sprays"].checks
    assert all(line.endswith(("(fouled sprays)", "(worn sprays)")) for line in rest)


def test_a_section_says_what_each_likely_cause_means() -> None:
    row = incident(1, "DA-1", confidence=0.4, alternatives=(Alternative("air-in-leakage", None, 0.3),))
    fleet = made_scan.fleet()
    found = section(SCAN.vessels[0], row, fleet.vessels[0], None, SI, SCAN.until, drawn=False)
    assert found.heading.endswith("lower than expected, cause not told: choked vent or air in-leakage")
    assert found.meaning.startswith("These readings do not tell which it is. Choked vent: The vent line")
    assert CAUSES["air-in-leakage"].meaning in found.meaning
    assert found.checks == checks(row)


def test_one_meaning_stands_once_for_all_sensors_that_it_may_be() -> None:
    other = Alternative("sensor-drift", "steam_flow", 0.38)
    row = incident(
        1, "DA-1", cause="sensor-drift", role="inlet_temperature", confidence=0.49, alternatives=(other,)
    )
    fleet = made_scan.fleet()
    found = section(SCAN.vessels[0], row, fleet.vessels[0], None, SI, SCAN.until, drawn=False)
    assert found.meaning == (
        "These readings do not tell which it is. Sensor drift of inlet water temperature or of steam flow: "
        + CAUSES["sensor-drift"].meaning
    )


@pytest.mark.parametrize(
    ("moved", "z", "shown"),
    [
        (-0.025, -2.0, False),  # 90 kg/h less, by 45
        (0.025, 2.0, True),
        (0.001, 0.02, True),  # nothing that this meter would see
        (0.001, 0.5, False),  # a good meter's
        (0.0, 0.0, True),  # without an error there is nothing to say
    ],
)
def test_a_loss_that_the_steam_flow_does_not_show_is_told_so(moved: float, z: float, shown: bool) -> None:
    steam = Evidence("steam_flow", "kg/s", 2.67, 2.67 + moved, z, 0.025)
    lost = incident(
        1, "DA-1", cause="heat-loss", evidence=(steam,), consequence=Consequence(None, 90.0, None),
        limit_reached=None, projection=(),
    )  # fmt: skip
    told = "90 kg/h steam lost" + (
        "" if shown else " (by the cause; the measured steam flow does not show it)"
    )
    assert facts(lost)["Consequence"] == told
