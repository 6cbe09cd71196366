import math

import pytest

from sevenppb.reports import numbers
from sevenppb.reports.numbers import Units

SI, US = Units("si"), Units("us")


def plain(text: str) -> str:
    return text.replace(numbers.SPACE, " ")


@pytest.mark.parametrize(
    ("feature", "value", "unit", "si", "us"),
    [
        # conversions by hand: 9/5 and 32; 1 lb = 0.45359237 kg; 1 psi = 6894.757 Pa; 1 atm = 101325 Pa
        ("vent_temperature", 97.93, "degC", "97.9 °C", "208.3 °F"),
        ("subcooling", 1.104, "K", "1.1 °C", "2.0 °F"),
        ("outlet_oxygen", 5.234, "ppb", "5.2 ppb", "5.2 ppb"),
        ("steam_flow", 4.2, "kg/s", "15.1 t/h", "33\u202f300 lb/h"),
        ("shell_pressure", 143_000.0, "Pa", "41.7 kPa gauge", "6.0 psi gauge"),
        (
            "supply_pressure",
            290_325.0,
            "Pa",
            "189 kPa gauge",
            "27.4 psi gauge",
        ),  # a gauge beside it shows this
        ("barometric_pressure", 101_325.0, "Pa", "101.3 kPa", "14.70 psi"),
        ("steam_valve", 0.463, "1", "46 %", "46 %"),
        ("steam_flow", math.nan, "kg/s", "–", "–"),
    ],
)
def test_reading_in_display_units(feature: str, value: float, unit: str, si: str, us: str) -> None:
    assert plain(numbers.reading(feature, value, unit, SI)) == si
    assert plain(numbers.reading(feature, value, unit, US)) == us


def test_a_gauge_reading_is_over_the_vessels_own_barometer() -> None:
    high_up = Units("si", barometer=83_000.0)
    assert plain(numbers.reading("shell_pressure", 143_000.0, "Pa", high_up)) == "60.0 kPa gauge"


@pytest.mark.parametrize(
    ("value", "unit", "si", "us"),
    [
        (0.62, "fraction", "62 %", "62 %"),
        (1.0, "degC", "1.0 °C", "1.8 °F"),  # a shift has no offset
        (1.0, "K", "1.0 °C", "1.8 °F"),
        (690.0, "Pa", "0.69 kPa", "0.10 psi"),
        (194.0, "kg/h", "190 kg/h", "430 lb/h"),
        (120.0, "kW", "120 kW", "410 kBtu/h"),
        (-1.21, "ppb", "−1.2 ppb", "−1.2 ppb"),
        (0.0996, "fraction", "10 %", "10 %"),  # two digits, as of 0.10
        (None, "ppb", "–", "–"),
    ],
)
def test_amount(value: float | None, unit: str, si: str, us: str) -> None:
    assert plain(numbers.amount(value, unit, SI)) == si
    assert plain(numbers.amount(value, unit, US)) == us


def test_both_ends_of_an_interval_have_the_same_decimals() -> None:
    assert plain(numbers.interval(0.5, 0.74, "fraction", SI)) == "50 to 74 %"
    assert plain(numbers.interval(-0.2, 1.34, "ppb", SI)) == "−0.2 to 1.3 ppb"
    assert plain(numbers.interval(math.nan, 1.0, "ppb", SI)) == "–"


@pytest.mark.parametrize(
    ("doubt", "decimals"),
    # the rule's own examples: 0.827 ± 0.119 is told as 0.83 ± 0.12, and 0.827 ± 0.367 as 0.8 ± 0.4
    [(0.119, 2), (0.367, 1), (0.354, 2), (9.5, 0), (95.0, -1), (102.0, -1), (3900.0, -3)],
)
def test_digits_follow_the_doubt(doubt: float, decimals: int) -> None:
    assert numbers.decimals_for_doubt(doubt) == decimals


@pytest.mark.parametrize(
    ("value", "low", "high", "unit", "told"),
    [
        (0.62, 0.50, 0.74, "fraction", ("62 %", "50 to 74 %")),
        (1.04, 0.064, 3.96, "fraction", ("100 %", "10 to 400 %")),
        (0.44, 0.04, 0.82, "fraction", ("44 %", "4 to 82 %")),  # an end that is not zero is not told as zero
        (58.6e3, 58.1e3, 59.2e3, "Pa", ("59 kPa", "58 to 59 kPa")),
        (0.0, 0.0, 0.063, "K", ("0.00 °C", "0.00 to 0.06 °C")),
        (0.5, math.nan, 1.0, "ppb", ("0.50 ppb", "–")),
    ],
)
def test_an_estimate_has_the_digits_of_its_interval(
    value: float, low: float, high: float, unit: str, told: tuple[str, str]
) -> None:
    assert tuple(plain(text) for text in numbers.estimate(value, low, high, unit, SI)) == told


def test_a_doubted_reading_has_the_digits_of_its_doubt() -> None:
    assert plain(numbers.doubted("mass_closure", -0.2725, 0.61, "kg/s", SI)) == "−1.0 t/h"
    assert plain(numbers.doubted("steam_flow", 4.2, None, "kg/s", SI)) == "15.1 t/h"


@pytest.mark.parametrize(
    ("value", "told"),
    [
        (796.8, "+50 and more"), (-50.2, "−50 and more"), (math.inf, "–"),
        (49.8, "+50"), (-12.3, "−12"), (9.84, "+9.8"), (-0.13, "−0.1"), (0.04, "0.0"),
    ],
)  # fmt: skip
def test_standard_errors_by_two_digits_and_no_further_than_is_of_use(value: float, told: str) -> None:
    assert plain(numbers.errors(value)) == told


@pytest.mark.parametrize(
    ("feature", "unit", "one", "other", "apart"),
    [
        ("subcooling_swing", "K", -0.0133, -0.0731, 1),  # 0.0 and −0.1 °F
        ("subcooling", "K", 0.2441, 0.8054, 10),  # 0.4 and 1.4 °F
        ("inlet_oxygen", "ppb", 1004.0, 1043.0, 4),  # 1 000 and 1 040
        ("subcooling", "K", math.nan, 0.8, 0),
    ],
)
def test_how_far_apart_two_readings_are_as_shown(
    feature: str, unit: str, one: float, other: float, apart: int
) -> None:
    assert numbers.digits_apart(feature, one, other, unit, US) == apart


@pytest.mark.parametrize(
    ("feature", "value", "text"),
    [
        ("steam_valve", 1.08, "fully open"),
        ("steam_valve", 1.0, "fully open"),
        ("steam_valve", 0.98, "98 %"),
        ("vent_valve", -0.01, "shut"),
        ("outlet_oxygen_swing", -0.01, f"{numbers.MINUS}1 %"),  # a rise with load has no ends
        ("level", 1.1, "110 %"),  # nor has a level above its scale
    ],
)
def test_no_valve_is_expected_beyond_its_travel(feature: str, value: float, text: str) -> None:
    assert plain(numbers.expected(feature, value, "1", SI)) == text


def test_a_relative_rise_with_load_has_the_digits_of_its_instrument() -> None:
    assert plain(numbers.reading("outlet_oxygen_swing", 0.0203, "1", SI)) == "2 %"  # of 6 %


@pytest.mark.parametrize(
    ("fraction", "text"),
    [(0.0, "0 %"), (0.004, "under 1 %"), (0.914, "91 %"), (0.996, "over 99 %"), (1.0, "100 %"), (None, "–")],
)
def test_percent_never_claims_certainty(fraction: float | None, text: str) -> None:
    assert plain(numbers.percent(fraction)) == text


def test_a_rounded_zero_has_no_sign() -> None:
    assert numbers.number(-0.04, 1, signed=True) == "0.0"
    assert numbers.number(0.06, 1, signed=True) == "+0.1"
    assert numbers.number(1_234_567.0, 0) == "1\u202f234\u202f567"


def test_a_number_and_its_unit_stay_on_one_line() -> None:
    shown = numbers.reading("vent_temperature", 97.93, "degC", SI), numbers.percent(0.5)
    assert all(len(text.split(" ")) == 1 for text in shown)
