"""Units as people write them, against pint's own conversions and exact definitions."""

import numpy as np
import pint
import pytest

from sevenppb.detect import units
from sevenppb.detect.errors import UnitFault
from sevenppb.detect.unit_factors import FACTORS
from sevenppb.detect.unit_spellings import SPELLINGS

AIR = 100_000.0
PINT = pint.UnitRegistry()
INSIDE = {
    "pressure": "Pa", "temperature": "degC", "temperature difference": "delta_degC", "flow": "kg/s",
    "volume flow": "m**3/s", "fraction": "dimensionless", "oxygen": "ug/kg", "length": "m",
}  # fmt: skip


def test_every_unit_has_a_factor() -> None:
    assert {d: list(rows) for d, rows in FACTORS.items()} == {d: list(rows) for d, rows in SPELLINGS.items()}


@pytest.mark.parametrize(("dimension", "expression"), [(d, e) for d, rows in FACTORS.items() for e in rows])
def test_factors_are_those_of_pint(dimension: str, expression: str) -> None:
    scale, offset = FACTORS[dimension][expression]
    unit = PINT.parse_expression(expression)
    for value in (0.0, 180.0):
        if dimension == "temperature":
            inside = PINT.Quantity(value, expression).to("degC").magnitude
        else:
            inside = (value * unit).to(INSIDE[dimension]).magnitude
        assert value * scale + offset == pytest.approx(inside, rel=1e-14, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "expression"),
    [
        ("psig", "psi"),
        ("PSIG", "psi"),
        ("psi gauge", "psi"),
        ("barg", "bar"),
        ("bar(g)", "bar"),
        ("kPa(g)", "kPa"),
        ("kPa gauge", "kPa"),
        ("KPAG", "kPa"),
        ("kg/cm2 g", "kgf/cm**2"),
        ("kg/cm²(g)", "kgf/cm**2"),
        ("mbar g", "mbar"),
        ("in. H2O gauge", "inH2O"),
        ("MPa.g", "MPa"),
        ("bar ü", "bar"),
        ("mbar(Ü)", "mbar"),
        ("barue", "bar"),
    ],
)
def test_gauge_counts_from_the_barometer(text: str, expression: str) -> None:
    pascal = PINT.Quantity(1.0, expression).to("Pa").magnitude
    got = units.to_inside(np.array([0.0, 2.0]), text, "pressure", AIR)
    np.testing.assert_allclose(got, [AIR, AIR + 2.0 * pascal], rtol=1e-12)


@pytest.mark.parametrize(
    ("text", "one"),
    [
        ("psia", 6894.757293168),
        ("bara", 1e5),
        ("bar a", 1e5),
        ("kPa abs", 1e3),
        ("inHg abs", 3386.389),
        ("inHgA", 3386.389),
        ("mmHg abs", 133.3224),
        ("ata", 98066.5),
        ("atm abs", 101325.0),
        ("mmH2O abs", 9.80665),
    ],
)
def test_absolute_ignores_the_barometer(text: str, one: float) -> None:
    """Factors: BIPM SI brochure and NIST SP 811 (2008), appendix B.8, to the digits printed there."""
    got = units.to_inside(np.array([1.0]), text, "pressure", AIR)
    np.testing.assert_allclose(got, [one], rtol=1e-6)


def test_vacuum_counts_down_from_the_barometer() -> None:
    got = units.to_inside(np.array([0.0, 20.0]), "in Hg vac", "pressure", AIR)
    np.testing.assert_allclose(got, [AIR, AIR - 20 * 3386.38864], rtol=1e-7)


@pytest.mark.parametrize("text", ["degF", "DEG F", "degf", "°F", "F", "º F", "Deg.F", "fahrenheit"])
def test_fahrenheit_however_it_is_spelled(text: str) -> None:
    got = units.to_inside(np.array([32.0, 212.0, -40.0]), text, "temperature", AIR)
    np.testing.assert_allclose(got, [0.0, 100.0, -40.0], atol=1e-9)


@pytest.mark.parametrize("text", ["degC", "DEG C", "°C", "C", "℃", "celsius", "grd C"])
def test_celsius_is_left_alone(text: str) -> None:
    np.testing.assert_allclose(units.to_inside(np.array([104.25]), text, "temperature", AIR), [104.25])


@pytest.mark.parametrize(
    ("text", "kilograms_a_second"),
    [
        ("t/h", 1 / 3.6),
        ("T/H", 1 / 3.6),
        ("t/hr", 1 / 3.6),
        ("kg/h", 1 / 3600),
        ("kg/s", 1.0),
        ("lb/h", 0.45359237 / 3600),
        ("lbs/hr", 0.45359237 / 3600),
        ("PPH", 0.45359237 / 3600),
        ("klb/h", 453.59237 / 3600),
        ("kpph", 453.59237 / 3600),
        ("MMlb/h", 453592.37 / 3600),
        ("short ton/h", 907.18474 / 3600),
        ("kg per hour", 1 / 3600),
    ],
)
def test_mass_flows(text: str, kilograms_a_second: float) -> None:
    """The pound is 0.45359237 kg exactly (NIST SP 811)."""
    np.testing.assert_allclose(
        units.to_inside(np.array([1.0]), text, "flow", AIR), kilograms_a_second, rtol=1e-12
    )


def test_a_volume_of_water_says_its_density() -> None:
    """3.785411784 L to the gallon (NIST SP 811); water of 80 degC at saturation weighs 971.8 kg/m3 (IAPWS-IF97)."""
    hot = units.resolve("gpm at 80 degC", "flow")
    assert hot.scale == pytest.approx(3.785411784e-3 / 60 * 971.77, rel=1e-5)
    assert hot.note is not None
    assert "80 degC" in hot.note
    bare = units.resolve("gpm", "flow")
    assert bare.note is not None
    assert "15 degC (assumed" in bare.note


@pytest.mark.parametrize(
    ("text", "ppb"), [("ppb", 1), ("ug/L", 1), ("µg/l", 1), ("μg/kg", 1), ("mg/L", 1000), ("ppm", 1000)]
)
def test_oxygen(text: str, ppb: float) -> None:
    np.testing.assert_allclose(units.to_inside(np.array([7.0]), text, "oxygen", AIR), [7.0 * ppb])


@pytest.mark.parametrize(
    ("text", "quantity", "words"),
    [
        ("psi", "pressure", 'gauge or abs? Write "psi gauge" or "psi abs"'),
        ("bar", "pressure", "gauge or abs?"),
        ("inHg", "pressure", "gauge or abs?"),
        ("psgi", "pressure", 'Did you mean "psi gauge"?'),
        ("DEGG F", "temperature", 'Did you mean "degF"?'),
        ("psid", "pressure", "is a differential"),
        ("bara", "difference", 'write "bar"'),
        ("kPa gauge", "barometer", 'write "kPa"'),
        ("degF", "pressure", "is a unit of temperature, but one of pressure is needed"),
        ("Mlb/h", "flow", "klb/h or MMlb/h"),
        ("ton/h", "flow", "short_ton/h"),
        ("gpm", "steam flow", "steam has no fixed density"),
        ("mm", "level", "% of its span"),
        ("kg/s at 80 degC", "flow", "leave it out"),
        ("zork", "oxygen", "Known units of oxygen: ppb, ppm"),
    ],
)
def test_what_can_not_be_taken_is_asked_about(text: str, quantity: str, words: str) -> None:
    with pytest.raises(UnitFault) as caught:
        units.resolve(text, quantity)
    assert words in str(caught.value)
    assert text in str(caught.value)


@pytest.mark.parametrize(
    ("text", "quantity"),
    [("kPa", "difference"), ("psid", "difference"), ("kPa gauge", "difference"), ("hPa", "barometer")],
)
def test_differentials_and_the_barometer_are_plain(text: str, quantity: str) -> None:
    one = units.to_inside(np.array([0.0, 1.0]), text, quantity, AIR)
    assert one[0] == 0.0
    assert one[1] > 0.0


@pytest.mark.parametrize(
    ("text", "quantity", "inside"),
    [
        ("2 delta_degC", "temperature difference", 2.0),
        ("3.6 delta_degF", "temperature difference", 2.0),
        ("2 K", "temperature difference", 2.0),
        ("7 ppb", "oxygen", 7.0),
        ("180 t/h", "flow", 50.0),
        ("12 mm", "length", 0.012),
        ("0.5 in", "length", 0.0127),
        ("101.3 kPa", "barometer", 101300.0),
        ("1e2 kg/s", "flow", 100.0),
    ],
)
def test_amounts(text: str, quantity: str, inside: float) -> None:
    assert units.amount(text, quantity) == pytest.approx(inside, rel=1e-12)


@pytest.mark.parametrize("text", ["180", "t/h", "", "1,5 mm", "mm 12"])
def test_an_amount_without_number_or_unit(text: str) -> None:
    with pytest.raises(UnitFault, match="number with a unit"):
        units.amount(text, "length")


def test_every_spelling_is_read_back() -> None:
    wanted = {"pressure": "difference", "volume flow": "flow"}
    for dimension, rows in SPELLINGS.items():
        for row in rows.values():
            for text in row:
                unit = units.resolve(text, wanted.get(dimension, dimension))
                assert np.isfinite(unit.scale), text
                assert unit.scale > 0, text


@pytest.mark.parametrize("system", ["si", "us"])
@pytest.mark.parametrize(
    "quantity",
    [
        "pressure",
        "difference",
        "temperature",
        "temperature difference",
        "flow",
        "fraction",
        "oxygen",
        "level",
    ],
)
def test_display_reverses_reading(quantity: str, system: str) -> None:
    shown = units.display(quantity, system, AIR)  # type: ignore[arg-type]
    inside = np.array([1.0, 7.5, 1e5])
    text = {"temperature difference": f"delta_{shown.label}"}.get(quantity, shown.label)
    np.testing.assert_allclose(
        units.to_inside(inside * shown.scale + shown.offset, text, quantity, AIR), inside, rtol=1e-9
    )


def test_a_difference_of_temperatures_has_no_offset() -> None:
    shown = units.display("temperature", "us")
    assert (shown.label, shown.delta_label) == ("degF", "degF")
    assert 5.0 * shown.scale == pytest.approx(9.0)


def test_from_inside_reverses_to_inside() -> None:
    values = np.array([3.0, 17.0])
    for text in ("psig", "psia", "inHg vac", "kPa gauge"):
        np.testing.assert_allclose(
            units.from_inside(units.to_inside(values, text, "pressure", AIR), text, "pressure", AIR), values
        )


@pytest.mark.parametrize("text", ["gpm at 80 K", "m3/h at -1 degC", "gpm @ 900 degF"])
def test_a_volume_of_water_that_is_no_liquid_is_told(text):
    with pytest.raises(UnitFault, match=r"it is a liquid from 0\.01 to 350 degC"):
        units.resolve(text, "flow")


@pytest.mark.parametrize("text", ["gpm at 8..0 degC", "gpm at . degC"])
def test_a_temperature_that_is_no_number_is_an_unknown_unit(text):
    with pytest.raises(UnitFault, match="is not known"):
        units.resolve(text, "flow")
