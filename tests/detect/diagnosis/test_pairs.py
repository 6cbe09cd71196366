"""Two causes at once: told together where neither does alone, and never where one does."""

import pytest

from sevenppb.detect.causes import CAUSES

ALONE = sorted(slug for slug, cause in CAUSES.items() if cause.parameter is not None)


def names(explanation):
    beside = explanation.beside
    return {explanation.cause, None if beside is None else beside.cause}


@pytest.mark.parametrize(
    "pair",
    [
        ("fouled-sprays", "choked-vent"),
        ("worn-sprays", "steam-starvation"),
        ("open-vent", "air-in-leakage"),
        ("choked-vent", "heat-loss"),
    ],
)
def test_two_patterns_on_one_day_are_told_as_both(full, pair):
    found = full.diagnosis(1.5 * sum(full.pattern(name) for name in pair)).explanations[0]
    assert names(found) == {name.split(":")[0] for name in pair}
    assert found.probability > 0.5


def test_the_first_is_the_one_that_shows_more_clearly(full):
    weak, strong = full.pattern("air-in-leakage"), full.pattern("open-vent")
    assert full.diagnosis(0.7 * weak + 2.5 * strong).explanations[0].cause == "open-vent"


@pytest.mark.parametrize("cause", ALONE)
def test_one_pattern_needs_no_second(full, cause):
    assert full.diagnosis(2.0 * full.pattern(cause)).explanations[0].beside is None


def test_a_pair_predicts_what_both_do(full):
    told = full.diagnosis(1.5 * (full.pattern("fouled-sprays") + full.pattern("choked-vent"))).explanations[0]
    moved = dict(zip(full.days.features, told.pattern / full.natural(), strict=True))
    assert moved["spray_differential"] > 0.5
    assert moved["vent_flow"] < -0.5
    assert told.low < told.size < told.high
