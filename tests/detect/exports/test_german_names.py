"""Names and units as German exports write them are guessed like English ones, and units that names end in."""

import pytest

from sevenppb.detect.exports import guess
from sevenppb.detect.exports.guess import Seen


@pytest.mark.parametrize(
    ("tag", "unit", "values", "role"),
    [
        ("KH2.ENTG.P_DOM", "bar ü", (0.2, 0.28, 0.29), "shell_pressure"),
        ("KH2.ENTG.T_SPEICHER", "°C", (99.9, 106.0, 107.2), "storage_temperature"),
        ("KH2.ENTG.P_HEIZDAMPF", "bar(ü)", (5.3, 5.6, 6.0), "steam_pressure"),
        ("KH2.ENTG.M_HEIZDAMPF", "t/h", (0.0, 1.6, 2.3), "steam_flow"),
        ("KH2.ENTG.T_KOND_EIN", "°C", (61.9, 84.0, 87.1), "inlet_temperature"),
        ("KH2.ENTG.T_BRUEDEN", "°C", (62.1, 106.8, 107.3), "vent_temperature"),
        ("Brüdentemperatur", "°C", (62.1, 106.8, 107.3), "vent_temperature"),
        ("Zusatzwasser Menge", "t/h", (0.0, 2.6, 6.0), "makeup_flow"),
        ("Druck Entgaser 10LAA10CP001", "psi", (4.7, 5.1, 5.5), "shell_pressure"),
        ("Entg_Druck", "psig", (7.5, 8.0, 8.5), "shell_pressure"),
        ("Behälter Niveau", "%", (55.0, 62.0, 66.0), "level"),
        ("Luftdruck", "hPa", (993.0, 1010.0, 1028.0), "barometric_pressure"),
        ("FW-08 Dampfventil Stellung", "%", (41.0, 50.0, 58.0), "steam_valve"),
        ("Brüdenventil", "%", (20.0, 22.0, 25.0), "vent_valve"),
        ("Entlüftungsventil", "%", (20.0, 22.0, 25.0), "vent_valve"),
        ("FW-08 Brueden Menge", "kg/h", (50.0, 62.0, 80.0), "vent_flow"),
        ("FW-08 Kondensat Menge", "m3/h", (70.0, 90.0, 110.0), "inlet_flow"),
        ("Differenz Sprühdüsen", "mbar", (400.0, 620.0, 1200.0), "spray_differential"),
    ],
)
def test_a_german_name_is_guessed(tag: str, unit: str, values: tuple[float, float, float], role: str) -> None:
    best, *others = guess.guesses(Seen(tag, unit, None, *values), {})
    assert best.role == role
    assert all(other.score < best.score for other in others)
    assert best.score >= guess.SURE


def test_a_reason_is_told_once() -> None:
    found = guess.guesses(Seen("KH2.O2", "µg/l", None, 3.0, 5.0, 9.0), {})[0]
    assert len(found.reasons) == len(set(found.reasons))


@pytest.mark.parametrize(
    ("tag", "unit"),
    [
        ("DA3 Stm Flow klb/hr", "klb/hr"),
        ("DA3 Shell Press (psig)", "psig"),
        ("DA3_DO2_PPB", "PPB"),
        ("DA3 STOR TEMP degF", "degF"),
        ("P ATM", None),
        ("DA3 PRC", None),
        ("DA3 AT", None),
        ("DA3 Vent T", None),
        ("PT-101", None),
    ],
)
def test_a_unit_at_the_end_of_a_name_is_the_tags(tag: str, unit: str | None) -> None:
    assert guess.unit_by_name(Seen(tag, None, None, 1.0, 2.0, 3.0)).unit == unit


def test_the_exports_unit_comes_before_the_names() -> None:
    assert guess.unit_by_name(Seen("Flow klb/hr", "t/h", None, 1.0, 2.0, 3.0)).unit == "t/h"
