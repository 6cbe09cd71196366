"""What a point's attribute, its plant's number and its description say of its role."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from sevenppb.detect.exports import guess
from sevenppb.detect.exports.draft import draft
from sevenppb.detect.exports.guess import Seen
from sevenppb.detect.physics.steam import saturation_temperature

PLANT = {"21PI4501": "bar(g)", "21TI4502": "degC", "21TI4508": "degC", "21PDI4513": "kPa", "21PC4501": "%"}


def guessed(tag: str, unit: str, description: str | None, *values: float) -> list[str]:
    """The roles that are sure enough, best first."""
    found = guess.guesses(Seen(tag, unit, description, *values), {})
    return [g.role for g in found if g.score >= guess.SURE]


@pytest.mark.parametrize(
    ("tag", "unit", "description", "values", "role"),
    [
        ("HU3_STM_PRESS", "psig", "DA steam dome pressure", (4.7, 4.9, 5.1), "shell_pressure"),
        ("HU3_STM_PRESS", "psig", "DA steam supply pressure", (40.0, 42.0, 44.0), "steam_pressure"),
        ("HU3_FW_FLOW", "gpm", "Water to DA", (30.0, 36.0, 59.0), "inlet_flow"),
        ("HU3_FW_FLOW", "gpm", None, (30.0, 36.0, 59.0), "outlet_flow"),
        ("HU3_WTR_TEMP", "degF", "Water to DA temp", (111.0, 133.0, 143.0), "inlet_temperature"),
        ("HU4_PCV_OUT", "%", "DA PRV output", (30.0, 40.0, 50.0), "steam_valve"),
    ],
)
def test_a_description_says_more_than_a_name(
    tag: str, unit: str, description: str | None, values: tuple[float, float, float], role: str
) -> None:
    assert guessed(tag, unit, description, *values)[0] == role


@pytest.mark.parametrize("attribute", ["", ".PV", ".VALUE", ":cv"])
def test_an_attribute_is_no_instrument(attribute: str) -> None:
    differential = Seen(f"21PDI4513{attribute}", "kPa", None, 20.0, 30.0, 40.0)
    assert guess.says(differential, "difference")
    assert not guess.says(differential, "pressure")
    assert guess.says(Seen(f"104-TT-02{attribute}", None, None, 1.0, 2.0, 3.0), "temperature")


def test_neither_a_set_point_nor_an_output_is_a_measurement() -> None:
    for attribute, roles in (("PV", ["shell_pressure"]), ("SP", []), ("OP", [])):
        assert guessed(f"DA1_SHELL_PRESS.{attribute}", "kPa", None, 58.0, 60.0, 62.0)[:1] == roles
    assert guessed("DA1_STEAM_VALVE.OP", "%", None, 30.0, 40.0, 50.0) == ["steam_valve"]
    assert guessed("DA1_STEAM_VALVE.SP", "%", None, 30.0, 40.0, 50.0) == []


@pytest.mark.parametrize("cell", ["bar(g)", "(bar(g))", "[bar(g)]"])
def test_a_units_own_brackets_stay(tmp_path: Path, cell: str) -> None:
    rows = "".join(f"2025-01-{day} 00:00,{day / 100}\n" for day in range(10, 30))
    (tmp_path / "e.csv").write_text(f"time,PT01\n,Shell pressure\n,{cell}\n{rows}")
    assert 'unit = "bar(g)"' in draft([tmp_path / "e.csv"], tmp_path)


def test_a_small_da_is_no_deaerator() -> None:
    pump, shell = (
        {g.role: g.reasons for g in guess.guesses(Seen("PT03", "bar(g)", text, 1.2, 1.3, 1.4), {})}
        for text in ("Pressao da bomba", "DA press")
    )
    assert "shell_pressure" not in pump
    assert 'word "DA"' in shell["shell_pressure"]


def test_a_controllers_output_is_an_opening() -> None:
    for tag in ("PIC101_OUT", "DA1/TC7.OUT", "FIC-110 OUT"):
        output = Seen(tag, None, None, 30.0, 40.0, 50.0)
        assert guess.guesses(output, {}) == []
        assert guess.quantity_of(output) == "fraction"
    assert guess.guesses(Seen("BFW_TEMP_OUT", "degC", None, 103.0, 104.0, 105.0), {}) != []


def test_letters_that_are_a_word_say_nothing_else() -> None:
    position = Seen("STM_CV_POS", None, None, 30.0, 40.0, 50.0)
    assert [g.role for g in guess.guesses(position, {})] == ["steam_valve"]
    assert guess.quantity_of(Seen("SITE_BARO", None, None, 996.0, 1009.0, 1022.0)) is None
    assert guess.quantity_of(Seen("PCO-7", None, None, 30.0, 40.0, 50.0)) is None  # P says pressure too
    assert guess.says(Seen("DP101", None, None, 30.0, 40.0, 50.0), "difference")


def test_a_plants_code_for_systems_is_no_instrument() -> None:
    """LAA is a feed water tank in such a code, and no level."""
    assert not guess.says(Seen("6LAA10CP001", None, None, 2.5, 3.0, 3.8), "level")


def plant(attribute: str, days: int = 20) -> pd.DataFrame:
    """Half-hourly readings of a vessel that swings too little for a correlation, in the export's units."""
    rng = np.random.default_rng(13)
    n = days * 48
    gauge = 1.4 + 0.002 * rng.standard_normal(n)
    columns = [
        gauge,
        saturation_temperature(gauge * 1e5 + 101325.0) - 0.8 + 0.1 * rng.standard_normal(n),
        72 + rng.standard_normal(n),
        30 + rng.standard_normal(n),
        85 + rng.standard_normal(n),
    ]
    names = [f"{tag}{attribute} [{unit}]" for tag, unit in PLANT.items()]
    time = pd.date_range("2025-02-01", periods=n, freq="30min", tz="UTC", name="time")
    return pd.DataFrame(dict(zip(names, columns, strict=True)), index=time).round(3)


@pytest.mark.parametrize("attribute", ["", ".PV"])
def test_the_only_pair_of_known_units_that_boils_is_told(tmp_path: Path, attribute: str) -> None:
    plant(attribute).to_csv(tmp_path / "e.csv")
    lines = draft([tmp_path / "e.csv"], tmp_path).splitlines()
    assert any(one.startswith(f'shell_pressure = {{ tag = "21PI4501{attribute}"') for one in lines)
    assert any(one.startswith(f'storage_temperature = {{ tag = "21TI4502{attribute}"') for one in lines)
    assert sum("shell_pressure =" in one for one in lines) == 1


def test_a_role_that_boiling_water_speaks_against_is_doubted(tmp_path: Path) -> None:
    frame = plant("").rename(columns=lambda name: name.replace("21PI4501", "STEAM_PRESS"))
    frame.to_csv(tmp_path / "e.csv")
    lines = draft([tmp_path / "e.csv"], tmp_path).splitlines()
    (told,) = [one for one in lines if 'tag = "STEAM_PRESS"' in one]
    assert told.startswith("# steam_pressure")
    assert "doubtful: as shell_pressure it fits boiling water with 21TI4502" in told


def test_the_air_is_no_shell_even_where_the_water_follows_it(tmp_path: Path) -> None:
    """Of a shell that is held by its gauge, the water boils with the weather."""
    rng = np.random.default_rng(17)
    n = 960
    air = 99.8 + 0.6 * np.sin(np.arange(n) / 90.0)
    gauge = 100 + 0.3 * rng.standard_normal(n)
    frame = pd.DataFrame(
        {
            "PT90 [inHg]": air / 3.386389,
            "PT01 [psig]": gauge / 6.894757,
            "TT03 [degC]": saturation_temperature((100 + air) * 1e3) - 0.8,
        },
        index=pd.date_range("2025-02-01", periods=n, freq="30min", tz="UTC", name="time"),
    )
    frame.round(3).to_csv(tmp_path / "e.csv")
    lines = draft([tmp_path / "e.csv"], tmp_path).splitlines()
    (shell,) = [one for one in lines if "shell_pressure =" in one]
    assert shell.startswith('shell_pressure = { tag = "PT01", unit = "psig" }')
    (told,) = [one for one in lines if '"PT90"' in one]
    assert told.startswith('# barometric_pressure = { tag = "PT90", unit = "inHg" }  # doubtful')
    assert not guess.is_air(Seen("DA1 shell press", "kPa", None, 99.0, 100.0, 101.0))
    assert not guess.is_air(Seen("PT-101", "kPa gauge", None, 99.0, 100.0, 101.0))


def test_what_says_one_quantity_has_no_role_of_another() -> None:
    feed = Seen("Boilerhouse.Deaerator 1.Feed flow", None, None, 0.0, 8.0, 10.0)
    assert {guess.ROLES[g.role].quantity for g in guess.guesses(feed, {})} <= {"flow"}
    assert guess.guesses(Seen("FT120", "klb/h", None, 451.0, 470.0, 497.0), {}) == []  # it could be any flow
    assert (
        guess.guesses(Seen("FT120", "klb/h", "feed water flow", 451.0, 470.0, 497.0), {})[0].role
        == "outlet_flow"
    )


def test_a_vessels_only_pressure_and_temperature_are_its_shells_and_storages(tmp_path: Path) -> None:
    rng = np.random.default_rng(19)
    middles = {"DA1 Press": 200.0, "DA1 Temp": 103.6, "DA1 Water": 4000.0, "DA1 Water temp": 44.0}
    time = pd.date_range("2025-02-01", periods=500, freq="h", name="time")
    frame = pd.DataFrame(
        {k: v * (1 + 0.01 * rng.standard_normal(500)) for k, v in middles.items()}, index=time
    )
    frame.round(2).to_csv(tmp_path / "e.csv")
    text = draft([tmp_path / "e.csv"], tmp_path)
    roles = ("shell_pressure", "storage_temperature", "inlet_flow", "inlet_temperature")
    for role, tag in zip(roles, middles, strict=True):
        assert f'# {role} = {{ tag = "{tag}" }}' in text


@pytest.mark.parametrize("start", ["", "X", "BH", "P3-", "1LAA10", "HT."])
def test_letters_tell_the_quantity_behind_a_sites_own(tmp_path: Path, start: str) -> None:
    frame = plant("").rename(columns=lambda name: name.split()[0].replace("21", start, 1))
    frame.to_csv(tmp_path / "e.csv")
    text = draft([tmp_path / "e.csv"], tmp_path)
    assert f'# shell_pressure = {{ tag = "{start}PI4501", unit = "bar gauge" }}' in text
    assert f'# storage_temperature = {{ tag = "{start}TI4502", unit = "degC" }}' in text
    assert f"# no role guessed for: {start}TI4508: temperature, " in text
