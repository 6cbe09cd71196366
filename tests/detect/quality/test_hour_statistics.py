"""Hours against numpy one at a time, holds and spikes on arrays that can be checked by hand."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sevenppb.detect.quality import gaps, hourly, spikes, unit_jump

HOUR = hourly.HOUR_US
MINUTE = 60_000_000


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.integers(0, 2**32 - 1), st.integers(1, 200), st.floats(0.0, 0.9))
def test_hours_are_numpys_quantiles(seed: int, readings: int, missing: float) -> None:
    rng = np.random.default_rng(seed)
    time = np.sort(rng.choice(12 * 3600, readings, replace=False)).astype(np.int64) * 1_000_000 + 100 * HOUR
    value = rng.standard_normal(readings)
    value[rng.random(readings) < missing] = np.nan
    edge = hourly.edges(time, 100, 12)
    got = hourly.summarise(value, edge)
    for i in range(12):
        part = value[(time >= (100 + i) * HOUR) & (time < (101 + i) * HOUR)]
        part = part[~np.isnan(part)]
        assert got.count[i] == len(part)
        expected = np.quantile(part, [0, 0.25, 0.5, 0.75, 1]) if len(part) else np.full(5, np.nan)
        found = [got.low[i], got.quarter[i], got.median[i], got.three_quarters[i], got.high[i]]
        np.testing.assert_allclose(found, expected, rtol=1e-12, atol=1e-15)
        assert np.isnan(got.spread[i]) == (len(part) < 4)


def test_within_picks_the_readings_of_some_hours() -> None:
    edge = np.array([0, 3, 3, 7, 10])
    positions, own = hourly.within(edge, np.array([0, 1, 3]))
    assert positions.tolist() == [0, 1, 2, 7, 8, 9]
    assert own.tolist() == [0, 3, 3, 6]


def test_a_hold_ends_at_the_next_reading_at_a_bad_one_and_after_eight_hours() -> None:
    time = np.array([10 * MINUTE, 70 * MINUTE, 100 * MINUTE, 11 * HOUR])
    value = np.array([1.0, 2.0, np.nan, 3.0])
    alive = np.ones(24, dtype=bool)
    grid, held = gaps.held(time, value, 0, alive)
    at = dict(zip((grid // MINUTE).tolist(), held.tolist(), strict=True))
    assert 9 not in at  # nothing before the first reading
    assert (at[10], at[69], at[70], at[99]) == (1.0, 1.0, 2.0, 2.0)
    assert np.isnan(at[100])
    assert at[11 * 60 + 8 * 60 - 1] == 3.0
    assert 11 * 60 + 8 * 60 not in at
    alive[12] = False
    grid, _ = gaps.held(time, value, 0, alive)
    assert not ((grid >= 12 * HOUR) & (grid < 13 * HOUR)).any()


@pytest.mark.parametrize(
    ("kind", "sparse"),
    [
        ("each minute", False),
        ("each minute, a tenth lost", False),
        ("quantised, half lost", False),
        ("changes only", True),
        ("once a day", False),
    ],
)
def test_what_is_stored_by_exception(kind: str, sparse: bool) -> None:
    rng = np.random.default_rng(4)
    time = np.arange(20 * 1440, dtype=np.int64) * MINUTE
    value = np.round(50 + rng.standard_normal(len(time)), 3)
    if kind == "each minute, a tenth lost":
        keep = rng.random(len(time)) > 0.1
    elif kind == "quantised, half lost":
        value = np.round(value)
        keep = rng.random(len(time)) > 0.5
    elif kind == "changes only":
        keep = rng.random(len(time)) < 0.15
    elif kind == "once a day":
        keep = np.arange(len(time)) % 1440 == 600
    else:
        keep = np.ones(len(time), dtype=bool)
    edge = hourly.edges(time[keep], 0, 480)
    assert gaps.by_exception(time[keep], value[keep], np.diff(edge)) is sparse


QUARTER = 15 * MINUTE


def by_deadband(value: np.ndarray, deadband: float, beat: int) -> np.ndarray:
    """Positions of the values that are stored: those that differ from the last stored one by more, or come so much
    later."""
    kept = [0]
    for i in range(1, len(value)):
        if abs(value[i] - value[kept[-1]]) > deadband or i - kept[-1] >= beat:
            kept.append(i)
    return np.array(kept)


@pytest.mark.parametrize("hours", [4, 8, 12, 24])
@pytest.mark.parametrize("deadband", [0.5, 2.0, 3.5])
def test_a_well_held_value_is_stored_by_heartbeat(deadband: float, hours: int) -> None:
    """From a deadband that most readings pass to one that almost none does."""
    value = np.round(50 + np.random.default_rng(3).standard_normal(200 * 96), 1)
    kept = by_deadband(value, deadband, hours * 4)
    time = kept * QUARTER
    edge = hourly.edges(time, 0, 200 * 24)
    assert gaps.by_exception(time, value[kept], np.diff(edge))
    if deadband == 3.5:
        assert gaps.heartbeat(time, value[kept]) == hours * HOUR
        grid, _ = gaps.held(time, value[kept], 0, np.ones(200 * 24, dtype=bool))
        assert len(grid) == 200 * 1440 - time[0] // MINUTE


@pytest.mark.parametrize("kind", ["a fifth lost", "some more often", "by hand", "the clock set anew"])
@pytest.mark.parametrize("hours", [4, 8, 24])
def test_a_clock_is_no_heartbeat(kind: str, hours: int) -> None:
    rng = np.random.default_rng(7)
    even = np.arange(0, 360 * 1440, hours * 60)
    minutes = {
        "a fifth lost": even[rng.random(len(even)) > 0.2],
        "some more often": np.union1d(even, rng.integers(0, 360 * 1440, len(even) // 10)),
        "by hand": np.sort(even + rng.normal(0, hours * 6, len(even)).astype(np.int64)),
        "the clock set anew": np.cumsum(
            np.where(rng.random(len(even)) < 0.05, rng.integers(1, hours * 60, len(even)), hours * 60)
        ),
    }[kind]
    value = np.round(50 + rng.standard_normal(len(minutes)), 1)
    assert gaps.heartbeat(minutes * MINUTE, value) is None


def test_spikes_and_what_only_looks_like_one() -> None:
    value = np.full(40, 10.0)
    value[5] = 20.0  # one reading
    value[10:12] = 0.0  # two
    value[20:24] = 20.0  # four: an event
    value[30:] = 20.0  # a step
    marked = spikes.mark(value, 0.1, 1.0)
    assert np.flatnonzero(marked).tolist() == [5, 10, 11]
    assert not spikes.mark(value, 0.1, 15.0).any()
    ramp = np.arange(40.0)
    assert not spikes.mark(ramp, 0.0, 0.1).any()


def test_a_spike_stored_by_exception_is_over_at_once() -> None:
    value = np.array([10.0, 11, 10, 11, 30, 10, 11, 0, 0, 10, 11, 10])
    time = np.arange(len(value), dtype=np.int64) * HOUR
    time[5:] -= 50 * MINUTE  # the value after the first outlier comes ten minutes later
    assert np.flatnonzero(spikes.mark(value, 0.1, 5.0)).tolist() == [4, 7, 8]
    assert np.flatnonzero(spikes.mark(value, 0.1, 5.0, time)).tolist() == [4]  # the other one is an outage


def test_noise_is_the_standard_deviation_against_neighbours() -> None:
    """Of white noise the difference from the mean of two neighbours has variance 1.5."""
    value = np.random.default_rng(0).standard_normal(200_000)
    assert spikes.noise(value) == pytest.approx(np.sqrt(1.5), rel=0.03)
    assert spikes.noise(value[:2]) == 0.0


def hours_of(value: np.ndarray) -> hourly.Hours:
    time = np.arange(len(value), dtype=np.int64) * 10 * MINUTE
    return hourly.summarise(value, hourly.edges(time, 0, len(value) // 6))


@pytest.mark.parametrize("stays", [40, 400])
def test_a_load_that_steps_is_no_change_of_unit(stays: int) -> None:
    """Levels of a plant's load stand to each other as units may, and a controlled vessel's other tags stay."""
    rng = np.random.default_rng(8)
    levels = rng.choice([30.0, 45.0, 66.0, 100.0], 4800 // stays).repeat(stays)
    load = (levels * (1 + 0.02 * rng.standard_normal(4800))).repeat(6)
    quiet = [hours_of(rng.standard_normal(len(load))) for _ in range(3)]
    known = unit_jump.conversions("flow", 101.325)
    assert unit_jump.find(hours_of(load), quiet, known) is None
    half = len(load) // 2
    steady = 80 * (1 + 0.02 * rng.standard_normal(len(load)))
    steady[half:] *= 2.20462
    jump = unit_jump.find(hours_of(steady), quiet, known)
    assert jump is not None
    assert jump.wrong.sum() == half // 6


def test_a_unit_jump_needs_quiet_neighbours_that_can_be_asked() -> None:
    rng = np.random.default_rng(5)
    value = 60 + rng.standard_normal(1800)
    value[900:] += 101.3
    quiet, steps = rng.standard_normal(1800), rng.standard_normal(1800)
    steps[900:] += 30.0
    known = unit_jump.conversions("pressure", 101.325)
    jump = unit_jump.find(hours_of(value), [hours_of(quiet)], known)
    assert jump is not None
    assert (jump.what, jump.at) == ("gauge and absolute", (150,))
    assert jump.wrong.sum() == 150
    assert unit_jump.find(hours_of(value), [hours_of(quiet), hours_of(steps)], known) is None
    assert unit_jump.find(hours_of(value), [hours_of(np.full(1800, np.nan))], known) is None
