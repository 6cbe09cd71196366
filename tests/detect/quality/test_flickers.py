"""A reading frozen but for its last step: told in days at two neighbouring values, and not where that is the tag's, the
season's or the vessel's way."""

import numpy as np
import pytest
import test_standstills as standstills

from sevenppb.detect.quality import flicker

HOUR = 6  # readings
FIRST, LAST = 600, 779  # hours: seven and a half days
DAYS = standstills.DAYS


def storage(noise: float, step: float) -> np.ndarray:
    """Storage temperature on a scale of `step`, that goes up and down with the day."""
    rng = np.random.default_rng(14)
    day = np.sin(np.arange(DAYS * 144) / 144 * 2 * np.pi)
    return np.round((105.0 + noise * (day + 0.5 * rng.standard_normal(DAYS * 144))) / step) * step


def flickering(
    value: np.ndarray, step: float, often: float = 0.3, first: int = FIRST, last: int = LAST
) -> None:
    span = slice(HOUR * first, HOUR * (last + 1))
    up = np.random.default_rng(15).random(HOUR * (last + 1 - first)) < often
    value[span] = np.round((105.0 + step * up) / step) * step


def plant(value: np.ndarray) -> dict[str, np.ndarray]:
    return standstills.plant() | {"storage_temperature": value}


@pytest.mark.parametrize("often", [0.3, 0.02])
def test_two_neighbouring_values_for_days_are_a_frozen_reading(often: float) -> None:
    value = storage(0.5, 0.1)
    flickering(value, 0.1, often)
    result = standstills.judged(plant(value))
    gone = np.flatnonzero(result.hours["storage_temperature"].count == 0)
    assert gone.tolist() == list(range(gone[0], gone[-1] + 1))
    assert abs(gone[0] - FIRST) <= 1
    assert abs(gone[-1] - LAST) <= 1
    (told,) = result.stuck
    assert (told.role, told.value) == ("storage_temperature", pytest.approx(105.0))
    assert result.cut["storage_temperature"]["frozen"] == HOUR * len(gone)
    (note,) = result.notes
    assert note.startswith("storage_temperature showed only two neighbouring values from 1970-01-2")
    assert note.endswith("(UTC) while other tags moved: cut")


def test_a_week_without_a_flicker_tells_nothing() -> None:
    assert standstills.judged(plant(storage(0.5, 0.1))).stuck == ()


def test_a_coarse_tag_shows_two_values_for_weeks() -> None:
    value = storage(0.5, 1.0)
    flickering(value, 1.0)
    assert standstills.judged(plant(value)).stuck == ()


def test_two_values_far_apart_are_a_switch() -> None:
    value = storage(0.5, 0.1)
    flickering(value, 0.5)
    assert standstills.judged(plant(value)).stuck == ()


def test_a_few_days_are_too_few() -> None:
    value = storage(0.5, 0.1)
    flickering(value, 0.1, last=FIRST + 90)
    assert standstills.judged(plant(value)).stuck == ()


@pytest.mark.parametrize("quiet", [(504, 620), (60, 300)], ids=["days before it", "a season long before"])
def test_where_quiet_days_are_the_tags_way_it_is_not_told(quiet: tuple[int, int]) -> None:
    value = storage(0.5, 0.1)
    days = slice(HOUR * quiet[0], HOUR * quiet[1])
    value[days] = np.round(10 * (105.0 + 0.2 * (value[days] - 105.0))) / 10
    flickering(value, 0.1)
    assert standstills.judged(plant(value)).stuck == ()


def test_hours_in_which_the_vessel_stands_do_not_count() -> None:
    value = storage(0.5, 0.1)
    flickering(value, 0.1)
    tags = plant(value)
    for role in ("outlet_flow", "inlet_flow", "steam_flow", "steam_valve"):
        tags[role][HOUR * FIRST : HOUR * (FIRST + 80)] = 0.0
    assert standstills.judged(tags).stuck == ()


def test_where_it_stands_exactly_still_in_between_it_is_told_once() -> None:
    value = storage(0.5, 0.1)
    flickering(value, 0.1)
    value[HOUR * 650 : HOUR * 700] = value[HOUR * FIRST]
    result = standstills.judged(plant(value))
    (told,) = result.stuck
    assert (told.end - told.start).total_seconds() / 3600 == pytest.approx(LAST + 1 - FIRST, abs=2)
    assert result.cut["storage_temperature"]["frozen"] == pytest.approx(HOUR * (LAST + 1 - FIRST), abs=12)
    assert len(result.notes) == 1


def test_where_all_tags_are_quiet_none_is_frozen() -> None:
    value = storage(0.5, 0.1)
    flickering(value, 0.1)
    tags = plant(value)
    for role, other in tags.items():
        if role != "storage_temperature":
            other[HOUR * FIRST : HOUR * (LAST + 1)] = other[HOUR * FIRST]
    assert "storage_temperature" not in [s.role for s in standstills.judged(tags).stuck]


def test_a_valve_at_its_end_may_show_two_values() -> None:
    rng = np.random.default_rng(16)
    tags = standstills.plant()
    tags["steam_valve"] = np.round(np.clip(0.6 + 0.1 * rng.standard_normal(DAYS * 144), 0, 1), 3)
    for middle, roles in ((0.4, ["steam_valve"]), (1.0, [])):
        shown = np.where(rng.random(HOUR * 180) < 0.3, middle - 0.001, middle)
        tags["steam_valve"][HOUR * FIRST : HOUR * (LAST + 1)] = np.round(shown, 3)
        assert [s.role for s in standstills.judged(tags).stuck] == roles


def test_two_values_across_a_long_gap_are_no_flicker() -> None:
    value = storage(0.5, 0.1)
    flickering(value, 0.1, first=600, last=1100)
    _, hours = standstills.found(value)
    every = np.ones(len(hours.count), dtype=bool)
    assert len(flicker.find(hours, every)) == 1
    gap = every & False
    gap[664:1036] = True
    assert flicker.find(hours.without(gap), every) == ()
