"""Sentences about a baseline, on daily residuals made up with a known rise."""

import numpy as np
import pandas as pd
import pytest

from sevenppb.detect import baseline_doubt
from sevenppb.detect.balance.fit import Fitted
from sevenppb.detect.balance.health import Health
from sevenppb.detect.balance.model import Conditions
from sevenppb.detect.drift.innovations import Noise
from sevenppb.detect.expected import Days

N, BASELINE = 300, 120
FEATURES = ("subcooling", "outlet_oxygen", "subcooling_swing")
SD, PHI = np.array([0.08, 0.10, 0.05]), 0.6
LIMITS = {"outlet_oxygen": 7.0, "subcooling": 2.0}


def days(residual, oxygen=5.0, load=None):
    """A vessel's days with these residuals [N, 3]; `load` is a seasonal term besides the constant."""
    index = pd.date_range("2025-01-01", periods=N, freq="D", tz="UTC")
    load = np.cos(np.arange(N) / 7.0) if load is None else load
    health = Health(20.0, 2e5, 1e6, 1e5)
    return Days(
        index=index,
        baseline=np.arange(N) < BASELINE,
        features=FEATURES,
        residual=residual,
        terms=np.column_stack([np.ones(N), load]),
        term_names=("constant", "load"),
        prior=np.array([[np.inf, 0.5], [np.inf, 0.4], [np.inf, 0.2]]),
        weight=np.ones((N, 3)),
        noise=tuple(Noise(sd, PHI) for sd in SD),
        hours=np.full(N, 24.0),
        seen=pd.DataFrame({"subcooling": 0.5, "outlet_oxygen": oxygen, "steam_to_shell": 8e5}, index=index),
        balance=np.zeros((N, 3)),
        at=Conditions(*np.full((12, N), 1.0)),
        fitted=Fitted(health, health, {}, ()),
        swing=0.1,
        coarse=np.zeros(3),
    )


def noise(seed):
    """Autocorrelated noise of the stated deviations [N, 3]."""
    rng = np.random.default_rng(seed)
    out = np.empty((N, 3))
    out[0] = rng.standard_normal(3) * SD
    for i in range(1, N):
        out[i] = PHI * out[i - 1] + np.sqrt(1 - PHI**2) * rng.standard_normal(3) * SD
    return out


def ramp(size, feature=0):
    out = np.zeros((N, 3))
    out[:, feature] = size * np.minimum(np.arange(N) / (BASELINE - 1), 1.0)
    return out


def test_a_rise_through_the_baseline_is_told_with_its_size():
    (said,) = baseline_doubt.doubts(days(noise(1) + ramp(0.4)), LIMITS)
    assert said.startswith("subcooling rose through the baseline by 0.")
    assert said.endswith(" K: a fault may already have been under way")
    assert 0.3 < float(said.split(" by ")[1].split(" K")[0]) < 0.5


def test_a_logarithmic_feature_is_told_in_percent():
    (said,) = baseline_doubt.doubts(days(noise(2) + ramp(-0.7, feature=1)), LIMITS)
    assert said.startswith("outlet oxygen fell through the baseline by ")
    assert 40 < float(said.split(" by ")[1].split("%")[0]) < 60


def test_what_comes_after_the_baseline_is_no_doubt_of_it():
    late = np.zeros((N, 3))
    late[BASELINE:, 0] = np.linspace(0.0, 3.0, N - BASELINE)
    assert baseline_doubt.doubts(days(noise(3) + late), LIMITS) == ()


def test_healthy_baselines_are_seldom_doubted():
    doubted = [bool(baseline_doubt.doubts(days(noise(seed)), LIMITS)) for seed in range(100, 200)]
    assert sum(doubted) <= 3


def test_a_season_that_the_terms_explain_is_no_trend():
    """Load that falls through the baseline, and a residual that follows it."""
    load = np.linspace(1.0, -3.0, N) + 0.4 * np.cos(np.arange(N) / 5.0)
    residual = noise(4)
    residual[:, 0] += 0.3 * load
    assert baseline_doubt.doubts(days(residual, load=load), LIMITS) == ()


def test_a_small_rise_however_certain_is_not_worth_a_word():
    assert baseline_doubt.doubts(days(0.05 * noise(5) + ramp(0.05)), LIMITS) == ()


def test_over_its_limit_from_the_start():
    (said,) = baseline_doubt.doubts(days(noise(6), oxygen=9.14), LIMITS)
    assert said == (
        "outlet oxygen was over its limit of 7 ppb on most days of the baseline (usually 9.14 ppb): "
        "what counts as healthy may not be"
    )
    late = np.where(np.arange(N) < BASELINE // 2 + 5, 5.0, 9.0)
    assert baseline_doubt.doubts(days(noise(6), oxygen=late), LIMITS) == ()


def test_limits_of_what_is_not_read_say_nothing():
    assert baseline_doubt.doubts(days(noise(7)), {"inlet_oxygen": 1.0, "steam_to_shell": 1.0}) == ()


def test_missing_days_are_borne_and_too_few_say_nothing():
    holed = noise(8) + ramp(0.6)
    holed[5:BASELINE:3, 0] = np.nan
    assert len(baseline_doubt.doubts(days(holed), LIMITS)) == 1
    holed[25:BASELINE, 0] = np.nan
    assert baseline_doubt.doubts(days(holed), LIMITS) == ()


@pytest.mark.parametrize(
    ("name", "rise", "said"),
    [
        ("steam_valve", 0.0132, "1.3 %"),
        ("outlet_oxygen", -0.5108, "40 %"),
        ("vent_temperature", 0.613, "0.61 K"),
    ],
)
def test_a_rise_has_its_unit(name, rise, said):
    assert f"through the baseline by {said}: " in baseline_doubt._moved(name, rise)
