"""A cause's signature: the move of every watched feature, at the vessel's own operating points."""

from dataclasses import replace

import numpy as np
import pytest

from sevenppb.detect.balance import fit
from sevenppb.detect.causes import CAUSES
from sevenppb.detect.diagnosis import signatures
from sevenppb.detect.features import SWING, WATCHED


def moved(bench, name):
    return dict(zip(bench.days.features, bench.pattern(name), strict=True))


def test_every_cause_and_every_recorded_sensor_is_a_candidate_once(full):
    names = [c.name for c in full.signed.candidates]
    assert len(names) == len(set(names))
    for cause in CAUSES.values():
        assert (cause.slug in names) == (cause.parameter is not None)
    for role in full.instruments.roles & set(signatures.SENSOR_STEPS):
        assert {f"sensor-drift:{role}:+", f"sensor-drift:{role}:-"} <= set(names)


def test_what_is_not_recorded_is_no_candidate(five):
    sensors = {c.role for c in five.signed.candidates if c.cause == "sensor-drift"}
    assert sensors == {
        "shell_pressure",
        "storage_temperature",
        "steam_pressure",
        "inlet_flow",
        "inlet_temperature",
    }


def test_signatures_are_finite_on_every_day_that_ran(full):
    assert np.isfinite(full.signed.moves[full.days.hours > 0]).all()


def test_a_lying_thermometer_moves_subcooling_by_its_error_and_nothing_else(full):
    step = signatures.SENSOR_STEPS["storage_temperature"][0]
    up, down = (
        moved(full, "sensor-drift:storage_temperature:+"),
        moved(full, "sensor-drift:storage_temperature:-"),
    )
    assert up.pop("subcooling") == pytest.approx(-step)
    assert down.pop("subcooling") == pytest.approx(step)
    assert not any(up.values())
    assert not any(down.values())


@pytest.mark.parametrize("role", ["outlet_oxygen", "spray_differential", "vent_flow", "outlet_flow"])
def test_a_meter_that_nothing_rests_on_moves_itself_alone(full, role):
    found = moved(full, f"sensor-drift:{role}:+")
    assert found.pop(role) == pytest.approx(signatures.SENSOR_STEPS[role][0])
    assert not any(found.values())


def test_a_load_that_reads_high_asks_for_more_than_there_is(full):
    """More flow read, so more steam, more outlet and more differential are expected than are seen."""
    found = moved(full, "sensor-drift:inlet_flow:+")
    assert found["steam_flow"] < 0
    assert found["outlet_flow"] < 0
    assert found["spray_differential"] < 0


def test_a_shell_pressure_that_reads_high_seems_subcooled(full):
    assert moved(full, "sensor-drift:shell_pressure:+")["subcooling"] > 0


def test_flooding_rises_with_load_and_heat_loss_falls(full):
    assert moved(full, "flooded-trays")["subcooling_swing"] > 0
    assert moved(full, "heat-loss")["subcooling_swing"] < 0


def test_swings_are_the_levels_differences_over_the_vessels_usual_load(full):
    """By hand: half of what the level's signature gains from low to high load."""
    rows = np.flatnonzero(full.days.hours > 0)[::40]
    at, by = fit.take(full.days.at, rows), full.days.swing
    health, levels = full.days.fitted.health, tuple(f for f in full.days.features if not f.endswith(SWING))
    here = signatures.signatures(at, health, full.days.features, full.instruments)
    low, high = (
        signatures.signatures(replace(at, flow=at.flow * np.exp(side * by)), health, levels, full.instruments)
        for side in (-1.0, 1.0)
    )
    for k, name in enumerate(full.days.features):
        if name.endswith(SWING):
            level = levels.index(name.removesuffix(SWING))
            by_hand = (high.moves[:, level] - low.moves[:, level]) / 2.0
            np.testing.assert_allclose(here.moves[:, k], by_hand, rtol=1e-9, atol=1e-12)


def test_draws_of_the_plant_are_signatures_one_by_one(full):
    rows = np.flatnonzero(full.days.hours > 0)[::60]
    at, drawn = fit.take(full.days.at, rows), full.days.fitted.draws
    together = signatures.signatures(at, drawn, full.days.features, full.instruments)
    third = replace(
        drawn,
        **{k: float(np.ravel(v)[2]) for k, v in vars(drawn).items() if np.ndim(v)},
    )
    alone = signatures.signatures(at, third, full.days.features, full.instruments)
    np.testing.assert_allclose(together.moves[2], alone.moves, rtol=1e-9, atol=1e-12)


def test_every_watched_feature_is_moved_by_some_cause(full):
    """Else it would be tested for nothing. No fault of the vessel moves its supply: that tells a lying supply gauge."""
    process = [j for j, c in enumerate(full.signed.candidates) if c.role is None]
    most = abs(full.usual[:, process] / full.natural()[:, None]).max(axis=1)
    moved = {feature for feature, size in zip(full.days.features, most, strict=True) if size > 0.05}
    assert moved == set(full.days.features) - {"supply_pressure"}
    assert (
        abs(full.pattern("sensor-drift:steam_pressure:+")[full.days.features.index("supply_pressure")]) > 0.01
    )
    assert set(full.days.features) <= set(WATCHED)


def test_meters_of_an_amount_drift_by_a_factor_and_others_by_an_offset():
    factor = {role for role, (_, logarithmic) in signatures.SENSOR_STEPS.items() if logarithmic}
    assert factor == {r for r in signatures.SENSOR_STEPS if r.endswith(("_flow", "_oxygen", "_differential"))}


def test_a_signature_alone_is_that_of_its_own_step_and_multiples_follow(full):
    rows = np.flatnonzero(full.days.hours > 0)[::60]
    at, health = fit.take(full.days.at, rows), full.days.fitted.health
    asked = (at, health, full.days.features, full.instruments)
    alone, several = signatures.signatures(*asked), signatures.signatures(*asked, (1.0, 2.0))
    np.testing.assert_array_equal(several.moves[0], alone.moves)
    sensors = [j for j, c in enumerate(alone.candidates) if c.role is not None]
    levels = [i for i, f in enumerate(full.days.features) if not f.endswith(SWING)]
    np.testing.assert_allclose(
        several.moves[1][:, levels][:, :, sensors], 2.0 * alone.moves[:, levels][:, :, sensors], rtol=1e-12
    )
    for candidate, move in zip(alone.candidates, np.moveaxis(alone.moves, -1, 0), strict=True):
        if candidate.name == "heat-loss":  # cools storage by so many kelvin, half of it where steam is
            found = move[:, full.days.features.index("subcooling")]
            assert 0.3 < np.nanmean(found) / signatures.STEPS["heat_loss"] < 1.2
