from dataclasses import replace

import made_scan
from made_scan import day, incident

from sevenppb.detect.incidents.incident import (
    Alternative,
    Consequence,
    Evidence,
    Incident,
    LimitReached,
    Magnitude,
)
from sevenppb.reports import numbers, words
from sevenppb.reports.numbers import Units

SI, US = Units("si"), Units("us")
BOTH = {"DA-1": SI, "DA-2": SI}  # vessels


def plain(text: str) -> str:
    return text.replace(numbers.SPACE, " ")


def test_one_sentence_says_it_all() -> None:
    assert plain(words.sentence(incident(1, "DA-1"), SI, day("2025-12-31"))) == (
        "DA-1: choked vent (confidence 91 %), vent area lost 62 % (50 to 74 %), growing since 3 Sep 2025; "
        "vent line temperature is 97.9 °C where 104.2 °C is expected; at this pace outlet oxygen reaches its "
        "limit about 20 Jan 2026 (8 Jan to 11 Feb 2026)."
    )


def test_what_came_to_rest_long_ago_is_not_said_to_grow() -> None:
    told = plain(words.sentence(incident(1, "DA-1", grown=day("2025-10-02")), SI, day("2025-12-31")))
    assert "vent area lost 62 % (50 to 74 %), grown from 3 Sep 2025 to about 2 Oct 2025; " in told
    assert "growing" not in told


def headline(*rows: Evidence) -> str:
    return plain(words.sentence(incident(1, "DA-1", evidence=rows), US, None)).split("; ")[1]


LEVEL = Evidence("subcooling", "K", 0.2441, 0.8054, 8.4, 0.4)
HARDLY = Evidence("subcooling_swing", "K", -0.0133, -0.0731, -25.4, -0.1)
FAR = Evidence("subcooling_swing", "K", 0.0, 0.5, 30.0, 0.5)
VALVE = Evidence("steam_valve", "1", 0.50, 0.54, 12.0, 0.0)


def test_the_headline_is_a_reading_that_shows_its_move() -> None:
    level = "subcooling is 1.4 °F where 0.4 °F is expected"
    assert headline(HARDLY, LEVEL) == level  # −0.1 for 0.0
    assert headline(FAR, LEVEL) == level  # the level before its own rise with load
    assert headline(VALVE, FAR, LEVEL) == level
    assert headline(VALVE, HARDLY, LEVEL).startswith("steam valve opening is 54 %")
    assert headline(FAR, replace(LEVEL, z=1.9), VALVE).startswith("subcooling's rise with load is 0.9 °F")
    assert headline(FAR, replace(LEVEL, observed=0.26)).startswith("subcooling's rise with load")
    assert headline(HARDLY).startswith("subcooling's rise with load")  # all there is


def test_a_valve_that_should_be_at_its_end_is_told_so() -> None:
    wide = Evidence("steam_valve", "1", 1.0, 0.90, -23.0, -0.1)
    assert headline(wide) == "steam valve opening is 90 % where fully open is expected"


def test_what_is_over_is_told_as_past() -> None:
    over = incident(1, "DA-1", ended=day("2025-10-01"), limit_reached=None)
    told = plain(words.sentence(over, SI, day("2025-12-31")))
    assert "vent line temperature was 97.9 °C where 104.2 °C was expected; ended 1 Oct 2025" in told


def test_an_end_while_the_vessel_stood_is_told_with_the_standstill() -> None:
    stood = (day("2025-09-28"), day("2025-10-20"))
    over = incident(1, "DA-1", ended=day("2025-10-01"), standstill=stood, limit_reached=None)
    assert words.sentence(over, SI, None).endswith("; ended during the standstill (28 Sep to 20 Oct 2025).")


def test_a_limit_in_the_past_is_told_as_past() -> None:
    past = LimitReached("outlet_oxygen", day("2025-10-20"), None, None)
    told = words.sentence(incident(1, "DA-1", limit_reached=past), SI, day("2025-12-31"))
    assert "outlet oxygen passed its limit on 20 Oct 2025" in told


def test_a_limit_that_was_passed_before_has_no_day() -> None:
    over = {"limit_reached": None, "consequence": Consequence(9.5, 0.0, None, 0.5)}
    told = words.sentence(incident(1, "DA-1", **over), SI, day("2025-12-31"))
    assert told.endswith("expected; outlet oxygen was over its limit already before.")
    told = words.sentence(incident(1, "DA-1", ended=day("2025-10-01"), **over), SI, day("2025-12-31"))
    assert "limit" not in told


def test_a_sensors_shift_is_signed_and_named() -> None:
    moved = Magnitude("reading shifted", 1.2, 0.9, 1.5, "degC")
    drift = incident(1, "DA-1", cause="sensor-drift", role="storage_temperature", magnitude=moved)
    assert words.cause(drift.cause, drift.role) == "sensor drift of storage temperature"
    assert plain(words.magnitude(drift, US)) == "reading shifted +2.2 °F (1.6 to 2.7 °F)"


def test_a_size_over_days_on_and_off_is_told_as_a_mean() -> None:
    mean = Magnitude("inlet oxygen raised", 0.57, 0.13, 1.17, "fraction", averaged=True)
    told = plain(words.sentence(incident(1, "DA-1", shape="intermittent", magnitude=mean), SI, None))
    assert "raised 60 % (10 to 120 %) on average over days on and off, coming and going since" in told


def test_a_stuck_sensor_shows_its_reading_not_a_move() -> None:
    held = Magnitude("reading held at", 100.0, float("nan"), float("nan"), "degC")
    stuck = incident(1, "DA-1", cause="sensor-stuck", role="storage_temperature", magnitude=held)
    assert plain(words.magnitude(stuck, US)) == "reading held at 212.0 °F"


def test_lead_counts_vessels_and_what_still_runs() -> None:
    scan = made_scan.fleet_scan()
    assert words.lead(scan.incidents, 3, 1, BOTH) == (
        "3 vessels scanned, 1 could not be; 3 incidents found, 2 still running. "
        "First to look at: DA-1, choked vent."
    )
    assert words.lead((), 1, 0, BOTH) == (
        "1 vessel scanned; no change stands out from chance, load and season."
    )
    assert words.lead((), 0, 2, BOTH) == "No vessel could be scanned, of 2."  # which is no clean bill


def test_the_first_to_look_at_still_runs() -> None:
    over = incident(1, "DA-1", ended=day("2025-10-01"), state="eased")
    there = incident(2, "DA-2", cause="heat-loss")
    assert words.lead((over, there), 2, 0, BOTH).endswith("First to look at: DA-2, heat loss.")
    assert words.lead((over,), 1, 0, BOTH).endswith("First to look at: DA-1, choked vent.")


def unsure(*shares: float, **changes: object) -> Incident:
    """A choked vent, with the first share, and as many others."""
    others = ("air-in-leakage", "tray-damage", "fouled-sprays", "unexplained")
    alternatives = tuple(Alternative(*row) for row in zip(others, [None] * 4, shares[1:], strict=False))
    return incident(1, "DA-1", **{"confidence": shares[0], "alternatives": alternatives, **changes})


def test_a_cause_that_is_less_likely_than_not_is_not_told() -> None:
    row = unsure(0.30, 0.24, 0.16, 0.15, 0.10)
    assert plain(words.sentence(row, SI, day("2025-12-31"))) == (
        "DA-1: vent line temperature is 97.9 °C where 104.2 °C is expected, growing since 3 Sep 2025; cause not told: "
        "choked vent (30 %), air in-leakage (24 %) or damaged trays (16 %); at this pace outlet oxygen reaches its "
        "limit about 20 Jan 2026 (8 Jan to 11 Feb 2026)."
    )
    untold = "cause not told: choked vent, air in-leakage or damaged trays"
    assert words.title(row, SI) == f"vent line temperature lower than expected, {untold}"
    assert words.lead((row,), 1, 0, BOTH).endswith(f"First to look at: DA-1, {words.title(row, SI)}.")
    assert plain(words.magnitude(row, SI)) == "vent area lost 62 % (50 to 74 %), if it is choked vent"


def test_from_even_odds_on_a_cause_is_told() -> None:
    assert words.title(unsure(0.50, 0.49), SI) == "choked vent"
    assert words.named(unsure(0.49, 0.48)) == "cause not told: choked vent or air in-leakage"


def test_of_many_small_shares_those_near_the_likeliest_are_named() -> None:
    assert words.named(unsure(0.40, 0.15, 0.15)) == "cause not told: choked vent or air in-leakage"
    assert words.named(unsure(0.40, 0.21, 0.20)).endswith("vent, air in-leakage or damaged trays")
    none = unsure(0.40, 0.25, cause="unexplained")
    assert words.named(none) == "cause not told: air in-leakage or no known cause"
    assert "if it is" not in words.magnitude(none, SI)
    pair = unsure(0.40, 0.25, beside=("heat-loss", None))
    assert words.named(pair) == "cause not told: choked vent together with heat loss or air in-leakage"


def test_a_change_without_evidence_is_a_change() -> None:
    assert words.title(unsure(0.40, 0.25, evidence=()), SI).startswith("a change, cause not told: choked")


def test_an_open_end_of_a_projection_is_said() -> None:
    late = LimitReached("outlet_oxygen", day("2026-01-20"), day("2026-01-08"), None)
    assert words.limit(late, day("2025-12-31")).endswith("about 20 Jan 2026 (8 Jan 2026 to beyond a year)")


def test_days_name_a_year_once() -> None:
    assert words.days(day("2025-08-29"), day("2025-09-09")) == "29 Aug to 9 Sep 2025"
    assert words.days(day("2025-12-29"), day("2026-01-09")) == "29 Dec 2025 to 9 Jan 2026"


def test_a_note_names_roles_and_days_as_reports_do_and_leaves_files_alone() -> None:
    note = (
        "steam_flow stood still from 2025-01-30 04:50 to 2025-02-01 16:50 UTC: day-2025-01-30.csv, 2025-02-31"
    )
    assert words.plain(note) == (
        "steam flow stood still from 30 Jan 2025 04:50 to 1 Feb 2025 16:50 UTC: day-2025-01-30.csv, 2025-02-31"
    )


def test_a_stuck_sensor_stands_still_since_a_day() -> None:
    held = Magnitude("outlet oxygen held at", 9.1, 9.1, 9.1, "ppb")
    stuck = incident(
        1, "DA-1", cause="sensor-stuck", role="outlet_oxygen", magnitude=held, shape="step", evidence=()
    )
    assert "outlet oxygen held at 9.1 ppb, since 3 Sep 2025" in plain(words.sentence(stuck, SI, None))
