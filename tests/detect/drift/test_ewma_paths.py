import numpy as np

from sevenppb.detect.drift import ewma


def by_loop(column, lam):
    state, count, means, spreads = 0.0, 0, [], []
    for value in column:
        if not np.isnan(value):
            state, count = lam * value + (1.0 - lam) * state, count + 1
        means.append(state)
        spreads.append(np.sqrt(sum((lam * (1.0 - lam) ** i) ** 2 for i in range(count))))
    return means, spreads


def test_filter_is_the_loop_and_the_spread_is_the_weights():
    rng = np.random.default_rng(5)
    g = rng.standard_normal((150, 3))
    g[rng.random(g.shape) < 0.2] = np.nan
    g[:4, 1] = np.nan
    for lam in (0.05, 0.3, 1.0):
        means, spread = ewma.paths(g, lam)
        for j in range(3):
            expected = by_loop(g[:, j], lam)
            np.testing.assert_allclose(means[:, j], expected[0], rtol=0, atol=1e-12)
            np.testing.assert_allclose(spread[:, j], expected[1], rtol=1e-9, atol=1e-12)
        np.testing.assert_array_equal(ewma.paths(g[:, 2], lam)[0], means[:, 2])


def test_early_and_late_days_have_unit_variance():
    noise = np.random.default_rng(6).standard_normal((200, 4000))
    means, spread = ewma.paths(noise, 0.05)
    for day in (0, 3, 20, 199):
        assert abs((means[day] / spread[day]).std() - 1.0) < 0.05


def test_nothing_seen_is_nothing_said():
    means, spread = ewma.paths(np.array([np.nan, np.nan, 2.0, np.nan]), 0.1)
    np.testing.assert_allclose(means, [0.0, 0.0, 0.2, 0.2])
    np.testing.assert_allclose(spread, [0.0, 0.0, 0.1, 0.1])
