"""Standstills on arrays that can be checked by hand: found to the reading, and judged by the tag's own habit, by its
neighbours and by whether the vessel runs."""

import numpy as np
import pytest

from sevenppb.detect.quality import hourly, judge, running, screen, stuck

HOUR = hourly.HOUR_US
MINUTE = 60_000_000
DAYS = 60
LIMITS = screen.Limits(-1e9, 1e9, 1e9)


def found(value: np.ndarray) -> tuple[stuck.Standstills, hourly.Hours]:
    """Ten-minute readings' standstills and hours."""
    time = np.arange(len(value), dtype=np.int64) * 10 * MINUTE
    edge = hourly.edges(time, 0, len(value) // 6)
    hours = hourly.summarise(value, edge)
    return stuck.find(time, value, edge, hours), hours


def whole(run: stuck.Run, hours: hourly.Hours) -> np.ndarray:
    inside = np.zeros(len(hours.count), dtype=bool)
    inside[run.first : run.last + 1] = True
    return inside


def out_of_habit(still: stuck.Standstills, hours: hourly.Hours) -> list[stuck.Run]:
    """The runs that are longer than the tag stands still by habit."""
    held = hours.median[still.spans[:, 0]]
    return [run for run in still.runs if stuck.out_of_habit(run, whole(run, hours), still.spans, held)]


def test_a_standstill_is_found_to_the_reading() -> None:
    value = np.random.default_rng(1).standard_normal(6 * 300)
    value[601:652] = value[600]
    still, hours = found(value)
    (run,) = still.runs
    assert (run.start, run.end, run.readings) == (600 * 10 * MINUTE, 651 * 10 * MINUTE, 52)
    cut = stuck.cut(hours, run, whole(run, hours))
    assert cut.count[98:112].tolist() == [6, 6, 0, 0, 0, 0, 0, 0, 0, 0, 2, 6, 6, 6]
    later = whole(run, hours)
    later[:104] = False  # only the hours in which the vessel runs
    assert stuck.cut(hours, run, later).count[98:112].tolist() == [6, 6, 6, 6, 6, 6, 0, 0, 0, 0, 2, 6, 6, 6]


@pytest.mark.parametrize(
    ("stood", "missing", "runs"),
    [(2, 4, 1), (2, 300, 0), (30, 300, 1)],
    ids=["a short gap", "a long one", "a long one in a long standstill"],
)
def test_equal_values_at_both_ends_of_a_gap(stood: int, missing: int, runs: int) -> None:
    """A coarse tag takes the same value again by chance, after weeks without readings."""
    value = np.random.default_rng(4).standard_normal(6 * 900)
    value[1200 : 1200 + 6 * (missing + 2 * stood)] = 5.25
    value[1200 + 6 * stood : 1200 + 6 * (stood + missing)] = np.nan
    assert len(found(value)[0].runs) == runs


def test_a_coarse_tag_needs_a_longer_standstill() -> None:
    rng = np.random.default_rng(2)
    coarse = np.repeat(np.round(rng.standard_normal(400) * 3), rng.integers(6, 40, 400))[: 6 * 600]
    fine = rng.standard_normal(6 * 600)
    for original, expected in ((coarse, 0), (fine, 1)):
        value = original.copy()
        value[1200:1250] = 5.25
        still, hours = found(value)
        assert len(out_of_habit(still, hours)) == expected


def test_a_tag_whose_history_is_holds_may_stand_still_for_weeks() -> None:
    """Stored when it moves, and every eight hours: nearly all hours are flat, and it was never still for long."""
    rng = np.random.default_rng(7)
    lengths = rng.integers(6, 6 * 8, 600)
    value = np.repeat(rng.standard_normal(len(lengths)), lengths)[: 6 * 24 * 90]
    value[6 * 24 * 40 : 6 * 24 * 65] = 5.25
    still, hours = found(value)
    assert [run.value for run in out_of_habit(still, hours)] == [5.25]


def test_a_coarse_tag_stands_until_the_plant_has_moved_by_a_step() -> None:
    """Half a ppb is the least that an analyser shows, and oxygen wanders by less for weeks."""
    rng = np.random.default_rng(9)
    wander = np.cumsum(rng.standard_normal(6 * 24 * 400)) * 0.01
    value = np.round(2 * (3.0 + wander)) / 2
    still, _ = found(value)
    assert len(still.spans) > 100
    assert max(still.spans[:, 1] - still.spans[:, 0]) > 10 * 24
    assert still.runs == ()


@pytest.mark.parametrize(("summer", "expected"), [(0.05, 0), (1.0, 1)], ids=["coarse by then", "lively"])
def test_a_tag_may_be_coarse_for_a_season(summer: float, expected: int) -> None:
    """Where nothing moves by more than a step, days at one value tell nothing; in a lively time they do."""
    rng = np.random.default_rng(5)
    value = np.round(rng.standard_normal(6 * 24 * 120) * 1.0, 2) * 0.05 * 20
    low = slice(6 * 24 * 60, 6 * 24 * 90)
    steps = np.repeat(rng.integers(0, 2, 400), rng.integers(6 * 4, 6 * 20, 400))[: 6 * 24 * 30]
    value[low] = np.round(0.6 + summer * steps + (summer > 0.5) * rng.standard_normal(6 * 24 * 30), 2)
    value[6 * 24 * 74 : 6 * 24 * 76] = 0.6
    still, hours = found(value)
    assert len(out_of_habit(still, hours)) == expected


def test_a_season_of_long_holds_is_a_habit() -> None:
    """An exception's dead band that is wide for the little that an analyser shows by then."""
    rng = np.random.default_rng(10)
    lively = np.repeat(rng.standard_normal(4000), rng.integers(3, 10, 4000))
    quiet = np.repeat(rng.standard_normal(40), rng.integers(6 * 5, 6 * 10, 40))
    quiet[len(quiet) // 2 :][: 6 * 20] = 5.25
    value = np.concatenate([lively, quiet])
    still, hours = found(value[: len(value) // 6 * 6])
    assert max(run.readings for run in still.runs) >= 6 * 20
    assert not out_of_habit(still, hours)


def test_holds_that_end_by_chance_are_a_habit_however_many_there_are() -> None:
    """Compressed readings written out at each sample stand for hours, with an exponential tail."""
    rng = np.random.default_rng(6)
    lengths = np.maximum(rng.exponential(7.0, 40_000).astype(int), 1)
    value = np.repeat(rng.standard_normal(len(lengths)), lengths)[: 6 * 24 * 400]
    still, hours = found(value)
    assert len(still.spans) > 500
    assert not out_of_habit(still, hours)


def test_neighbours_that_never_move_can_not_testify() -> None:
    rng = np.random.default_rng(3)
    value = rng.standard_normal(6 * 300)
    value[600:660] = 1.0
    still, hours = found(value)
    inside = whole(still.runs[0], hours)
    other = rng.standard_normal(1800)
    assert stuck.neighbours_move(inside, [found(np.zeros(1800))[1]]) is None
    assert stuck.neighbours_move(inside, [found(other)[1]]) is True
    other[590:670] = 0.0
    assert stuck.neighbours_move(inside, [found(other)[1]]) is False


def plant() -> dict[str, np.ndarray]:
    """Ten-minute readings of a vessel that stands in hours 400 to 460 and 900 to 960."""
    rng = np.random.default_rng(8)
    n = DAYS * 144
    tags = {
        role: middle * (1 + 0.02 * rng.standard_normal(n))
        for role, middle in (
            ("outlet_flow", 50.0),
            ("inlet_flow", 45.0),
            ("steam_flow", 4.0),
            ("shell_pressure", 60.0),
        )
    }
    tags["steam_valve"] = 0.4 + 0.02 * rng.standard_normal(n)
    for a, b in ((400, 460), (900, 960)):
        for role in ("outlet_flow", "inlet_flow", "steam_flow", "steam_valve"):
            tags[role][6 * a : 6 * b] = 0.0
        tags["shell_pressure"][6 * a : 6 * b] = 0.5
    return tags


def judged(tags: dict[str, np.ndarray]) -> judge.Judged:
    time = np.arange(DAYS * 144, dtype=np.int64) * 10 * MINUTE
    kinds = {"steam_valve": "fraction", "shell_pressure": "pressure", "outlet_oxygen": "oxygen"}
    quantities = {role: kinds.get(role, "flow") for role in tags}
    screened = {role: screen.screen(time, value, None, LIMITS) for role, value in tags.items()}
    return judge.judge(screened, quantities, {"steam_valve": 1.0}, {})


def hours_cut(result: judge.Judged, role: str) -> list[int]:
    gone = np.flatnonzero(result.hours[role].count == 0)
    return [int(gone[0]), int(gone[-1])] if len(gone) else []


def test_standing_still_while_the_vessel_stands_is_no_fault() -> None:
    result = judged(plant())
    assert result.stuck == ()
    assert not any(result.cut.values())


@pytest.mark.parametrize("role", ["outlet_flow", "inlet_flow", "steam_flow"])
def test_a_meter_at_zero_while_the_vessel_runs_again_is_cut_from_there_on(role: str) -> None:
    tags = plant()
    tags[role][6 * 460 : 6 * 500] = 0.0
    result = judged(tags)
    assert hours_cut(result, role) == [460, 499]
    assert result.cut[role]["frozen"] == 240
    assert [s.role for s in result.stuck] == [role]
    assert result.stuck[0].start.value // 1000 == 460 * HOUR


def test_no_steam_through_a_shut_valve_is_no_fault_and_none_through_an_open_one_is() -> None:
    tags = plant()
    tags["steam_flow"][6 * 600 : 6 * 640] = 0.0
    assert hours_cut(judged(tags), "steam_flow") == [600, 639]
    tags["steam_valve"][6 * 600 : 6 * 640] = 0.0
    assert hours_cut(judged(tags), "steam_flow") == []


def test_make_up_in_the_condensates_place_explains_a_zero() -> None:
    tags = plant()
    rng = np.random.default_rng(9)
    tags["makeup_flow"] = 5 * (1 + 0.1 * rng.standard_normal(DAYS * 144))
    tags["inlet_flow"][6 * 600 : 6 * 640] = 0.0
    assert hours_cut(judged(tags), "inlet_flow") == [600, 639]
    tags["makeup_flow"][6 * 600 : 6 * 640] *= 10
    assert hours_cut(judged(tags), "inlet_flow") == []


def test_standstills_of_the_vessel_do_not_hide_a_frozen_flow() -> None:
    tags = plant()
    tags["outlet_flow"][6 * 600 : 6 * 672] = tags["outlet_flow"][3600]
    assert hours_cut(judged(tags), "outlet_flow") == [600, 671]


def test_the_load_is_that_of_the_meter_that_shows_most() -> None:
    tags = plant()
    hours = {role: found(tags[role])[1] for role in ("outlet_flow", "inlet_flow")}
    hours["outlet_flow"] = hours["outlet_flow"].without(np.arange(DAYS * 24) < 100)
    load = running.load(hours)
    assert load is not None
    assert np.flatnonzero(running.stands(load, DAYS * 24)).tolist() == [*range(400, 460), *range(900, 960)]
    assert running.loaded(load, DAYS * 24)[:100].all()
    assert running.load({}) is None
    assert not running.stands(None, 5).any()


@pytest.mark.parametrize("standing", [15.0, 6000.0])
def test_an_analyser_that_shows_thousands_at_a_stop_is_frozen_at_a_few(standing: float) -> None:
    tags = plant()
    rng = np.random.default_rng(12)
    tags["outlet_oxygen"] = np.round(7.0 * np.exp(0.1 * rng.standard_normal(DAYS * 144)), 1)
    for a, b in ((400, 460), (900, 960)):
        tags["outlet_oxygen"][6 * a : 6 * b] = standing * (1 + 0.1 * rng.standard_normal(6 * (b - a)))
    assert judged(tags).stuck == ()
    tags["outlet_oxygen"][6 * 600 : 6 * 700] = 3.7
    assert hours_cut(judged(tags), "outlet_oxygen") == [600, 699]
    tags["outlet_oxygen"][6 * 600 : 6 * 700] = 0.0
    assert hours_cut(judged(tags), "outlet_oxygen") == []
