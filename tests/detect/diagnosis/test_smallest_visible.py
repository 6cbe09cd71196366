"""The smallest visible move: large enough for its chart to cross in time, and to be believed; and what would help."""

from dataclasses import replace

import made_days
import numpy as np
import pytest

from sevenppb.detect.diagnosis import coverage, magnitude
from sevenppb.detect.diagnosis.signatures import Signatures
from sevenppb.detect.drift import cusum
from sevenppb.detect.drift.watch import Charts
from sevenppb.detect.features import SWING, WATCHED


@pytest.fixture
def in_steps(monkeypatch):
    """Sizes in the signature's own steps."""
    monkeypatch.setattr(magnitude, "in_unit", lambda candidate, times, health: times)


def smallest(bench, signed, length, h=5.0, k=0.25):
    """By cause, where every candidate's step scores `length` a day."""
    lengths = np.full((len(bench.days.index), len(signed.candidates)), length)
    charts = Charts(k, np.float64(h), 0.05, np.float64(2.0))
    rows = coverage.coverage(bench.days, signed, signed, lengths, charts, np.eye(len(bench.days.features)))
    return {row.cause: row.smallest for row in rows}


def test_a_slow_fault_of_that_size_is_found_nine_times_in_ten(full, in_steps):
    """It grows for two months, and its chart must cross in three."""
    told = smallest(full, full.signed, 0.2, h=8.0)["heat-loss"]
    rng = np.random.default_rng(2)
    growing = np.minimum(np.arange(1, coverage.WITHIN + 1) / coverage.GROWTH, 1.0)

    def found(size: float) -> float:
        scores = 0.2 * size * growing + rng.standard_normal((2000, coverage.WITHIN))
        return float(np.mean([cusum.one_sided(row, 0.25).max() > 8.0 for row in scores]))

    assert 0.88 < found(told) < 0.97
    assert found(0.4 * told) < 0.4


def test_what_scores_more_is_seen_smaller_until_it_must_be_believed(full, in_steps):
    sizes = [smallest(full, full.signed, length)["heat-loss"] for length in (0.2, 0.4, 1e3, 1e6)]
    assert sizes[0] == pytest.approx(2.0 * sizes[1])
    assert sizes[1] > sizes[2] == sizes[3] > 0.0


def test_a_pattern_twice_as_long_is_believed_at_half_the_size(full, in_steps):
    longer = replace(full.signed, moves=2.0 * full.signed.moves)
    once, twice = (smallest(full, signed, 1e6)["heat-loss"] for signed in (full.signed, longer))
    assert twice == pytest.approx(0.5 * once)


def test_what_scores_nothing_or_needs_more_than_a_slow_fault_is_not_visible(full, in_steps):
    assert set(smallest(full, full.signed, 0.0).values()) == {None}
    assert smallest(full, full.signed, 0.01)["heat-loss"] is None


def test_a_reading_that_parts_all_look_alikes_helps_more_than_one_that_parts_one_widely(full):
    """In natural moves: oxygen lies 0.9 from both look-alikes, the vent's flow 3 from one of them; the level 0.1."""
    levels = [name for name in WATCHED if not name.endswith(SWING)]
    moves = np.zeros((1, len(levels), 3))
    for name, by in (
        ("outlet_oxygen", (0.9, 0.0, 0.0)),
        ("vent_flow", (3.0, 0.0, 3.0)),
        ("steam_flow", (0.1, 0.0, 0.0)),
    ):
        moves[0, levels.index(name)] = np.array(by) * WATCHED[name].natural
    everything = Signatures(full.signed.candidates[:3], moves)
    few = replace(full.days, features=("subcooling",))
    assert coverage._missing(few, everything, 0, [1, 2]) == ("outlet_oxygen", "vent_flow")
    assert coverage._missing(full.days, everything, 0, [1, 2]) == ()


def test_the_doubt_of_a_level_is_that_of_the_mean_of_days_that_remember():
    """Beside the double sum of their covariances, plus what is granted to the reading."""
    days, apart = made_days.days(), abs(np.subtract.outer(*[np.arange(coverage.WITHIN)] * 2))
    for f, (tolerance, noise) in enumerate(zip(days.tolerance, days.noise, strict=True)):
        mean = noise.sd**2 * np.mean(noise.phi**apart)
        known = np.sqrt(mean + tolerance**2)
        assert coverage._doubt(days, f) == pytest.approx(known, rel=0.03)
