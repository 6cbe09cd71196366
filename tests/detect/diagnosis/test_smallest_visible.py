"""The smallest visible move: large enough for its chart to cross in time, and to be believed; and what would help."""

from dataclasses import replace

import made_days
import numpy as np
import pytest

from sevenppb.detect.diagnosis import coverage, magnitude, search
from sevenppb.detect.diagnosis.signatures import Signatures
from sevenppb.detect.drift import cusum
from sevenppb.detect.drift.watch import Charts
from sevenppb.detect.features import SWING, WATCHED
from sevenppb.detect.seasonal.terms import YEARLY_TERMS


@pytest.fixture
def in_steps(monkeypatch):
    """Sizes in the signature's own steps."""
    monkeypatch.setattr(magnitude, "in_unit", lambda candidate, times, health: times)


def smallest(bench, signed, length, h=5.0, k=0.25):
    """By cause, where every candidate's step scores `length` a day."""
    lengths = np.full((len(bench.days.index), len(signed.candidates)), length)
    charts = Charts(k, np.float64(h), 0.05, np.float64(2.0))
    rows = coverage.coverage(
        bench.days,
        search.whiteners(bench.days, ()),
        signed,
        signed,
        lengths,
        charts,
        np.eye(len(bench.days.features)),
    )
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
    sizes = [smallest(full, full.signed, length)["heat-loss"] for length in (0.2, 0.3, 1e3, 1e6)]
    assert sizes[0] == pytest.approx(1.5 * sizes[1])
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


def test_the_error_of_a_slow_fault_is_that_of_dense_least_squares():
    """Beside a level and a wave that are known from the days before it alone, and from its own."""
    days = made_days.days()
    end = made_days.BASELINE + coverage.WITHIN
    course = np.clip((np.arange(end) - made_days.BASELINE + 1.0) / coverage.GROWTH, 0.0, 1.0)
    apart = abs(np.subtract.outer(*[np.arange(end)] * 2))
    found = coverage._errors(days, search.whiteners(days, ()))
    for f, noise in enumerate(days.noise):
        columns = days.terms[:end] * np.minimum(days.prior[f], 1e3 * noise.sd)
        cover = noise.sd**2 * noise.phi**apart + columns @ columns.T
        assert found[f] == pytest.approx((course @ np.linalg.inv(cover) @ course) ** -0.5, rel=0.01)


def test_a_season_that_a_short_baseline_learned_is_a_doubt_too():
    wave = np.sin(2 * np.pi * np.arange(made_days.COUNT) / 365.25)
    plain = replace(
        made_days.days(),
        terms=np.column_stack([np.ones(made_days.COUNT), wave]),
        term_names=("constant", YEARLY_TERMS[0]),
        prior=np.column_stack([np.full(3, np.inf), 20.0 * made_days.SD]),
    )
    swinging = made_days.moved(plain, np.full(3, 20.0), wave)
    assert np.all(
        coverage._errors(swinging, search.whiteners(swinging, ()))
        > 2.0 * coverage._errors(plain, search.whiteners(plain, ()))
    )


def test_a_record_that_ends_with_its_baseline_is_asked_of_its_last_days():
    days = made_days.days()
    ended = replace(days, baseline=np.ones(made_days.COUNT, dtype=bool))
    assert np.all(np.isfinite(coverage._errors(ended, search.whiteners(ended, ()))))
    assert np.all(coverage._errors(ended, search.whiteners(ended, ())) < 1e3)
