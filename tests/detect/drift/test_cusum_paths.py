import numpy as np

from sevenppb.detect.drift import cusum


def by_loop(column, k):
    state, path = 0.0, []
    for value in column:
        if not np.isnan(value):
            state = max(0.0, state + value - k)
        path.append(state)
    return path


def made(n, m, missing):
    rng = np.random.default_rng(3)
    g = rng.standard_normal((n, m)) + 0.2
    g[rng.random((n, m)) < missing] = np.nan
    return g


def test_closed_form_is_the_loop():
    g = made(800, 6, missing=0.15)
    k = np.array([0.0, 0.1, 0.25, 0.5, 1.0, 3.0])
    expected = np.array([by_loop(column, allowance) for column, allowance in zip(g.T, k, strict=True)]).T
    np.testing.assert_allclose(cusum.one_sided(g, k), expected, rtol=0, atol=1e-9)
    np.testing.assert_allclose(cusum.one_sided(g[:, 2], 0.25), expected[:, 2], rtol=0, atol=1e-9)


def test_a_missing_day_repeats_the_day_before():
    path = cusum.one_sided(np.array([np.nan, 2.0, np.nan, np.nan, 1.0, -9.0, np.nan]), 0.5)
    np.testing.assert_allclose(path, [0.0, 1.5, 1.5, 1.5, 2.0, 0.0, 0.0])
    assert np.all(cusum.one_sided(np.full((5, 2), np.nan), 0.5) == 0.0)


def test_no_later_day_changes_an_earlier_one():
    g = made(200, 3, missing=0.1)
    np.testing.assert_allclose(cusum.one_sided(g, 0.5)[:120], cusum.one_sided(g[:120], 0.5), atol=1e-12)
