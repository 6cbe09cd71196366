"""Run lengths by integral equation beside the charts on simulated noise, and limits as their inverse."""

import numpy as np
import pytest

from sevenppb.detect.drift import cusum, ewma, runlength


@pytest.fixture(scope="module")
def noise():
    return np.random.default_rng(42).standard_normal((2500, 1500))


def mean_run(above):
    """Mean and standard error of the first row above, counted from 1; all must get there."""
    assert above.any(axis=0).all()
    runs = np.argmax(above, axis=0) + 1
    return runs.mean(), runs.std() / np.sqrt(runs.size)


def test_one_sided_cusum_runs_as_long_as_said(noise):
    for shift in (0.0, 0.5):
        found, error = mean_run(cusum.one_sided(noise + shift, 0.25) > 5.0)
        assert abs(found - runlength.cusum_arl(0.25, 5.0, shift)) < 4.0 * error


@pytest.mark.parametrize("two_sided", [True, False])
def test_ewma_runs_as_long_as_said(noise, two_sided):
    means, spread = ewma.paths(noise, 0.1)
    reach = np.abs(means) if two_sided else means
    limit = 1.9
    found, error = mean_run(reach > limit * spread[-1])
    assert abs(found - runlength.ewma_arl(0.1, limit, 0.0, two_sided)) < 4.0 * error


@pytest.mark.parametrize("arl", [20.0, 370.0, 3652.5, 1e6])
@pytest.mark.parametrize("k", [0.05, 0.25, 0.5, 1.0])
def test_cusum_thresholds_give_the_run_length_asked_for(k, arl):
    assert abs(runlength.cusum_arl(k, runlength.cusum_threshold(k, arl)) / arl - 1.0) < 1e-4


@pytest.mark.parametrize("two_sided", [True, False])
@pytest.mark.parametrize("arl", [20.0, 370.0, 3652.5, 1e6])
def test_ewma_limits_give_the_run_length_asked_for(arl, two_sided):
    for lam in (0.03, 0.2, 1.0):
        limit = runlength.ewma_limit(lam, arl, two_sided)
        assert abs(runlength.ewma_arl(lam, limit, 0.0, two_sided) / arl - 1.0) < 1e-4


def test_a_cusum_without_allowance_has_a_limit_too():
    assert abs(runlength.cusum_arl(0.0, runlength.cusum_threshold(0.0, 1000.0)) - 1000.0) < 0.1


def test_one_side_is_rarer_than_two():
    assert runlength.ewma_limit(0.1, 500.0, False) < runlength.ewma_limit(0.1, 500.0, True)


@pytest.mark.parametrize("arl", [1.5, 1e10, float("nan")])
def test_run_lengths_that_no_limit_gives_are_refused(arl):
    with pytest.raises(ValueError, match="no limit gives an average run length"):
        runlength.cusum_threshold(0.5, arl)
    with pytest.raises(ValueError, match="no limit gives an average run length"):
        runlength.ewma_limit(0.1, arl)
