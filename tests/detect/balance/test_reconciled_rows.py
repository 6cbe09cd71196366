import numpy as np

from sevenppb.detect.balance import reconcile

# inlet + steam + make-up = outlet + vent
NODE = np.array([[1.0, 1.0, 1.0, -1.0, -1.0]])
TRUTH = np.array([80.0, 12.0, 8.5, 100.0, 0.5])
SD = np.array([0.8, 0.24, 0.17, 1.0, 0.05])


def made(n, seed):
    return TRUTH + np.random.default_rng(seed).standard_normal((n, 5)) * SD


def test_every_row_balances_and_comes_nearer_the_truth():
    measured = made(500, 1)
    found = reconcile.reconcile(measured, np.diag(SD**2), NODE)
    np.testing.assert_allclose(found.values @ NODE[0], 0.0, atol=1e-9)
    assert np.all(np.diag(found.covariance) < SD**2)
    np.testing.assert_allclose(
        np.sqrt(np.diag(found.covariance)), (found.values - TRUTH).std(axis=0), rtol=0.1
    )


def test_honest_meters_pass_as_often_as_they_should():
    found = reconcile.reconcile(made(4000, 2), np.diag(SD**2), NODE)
    assert abs(np.mean(found.p < 0.05) - 0.05) < 0.012
    assert abs(np.mean(found.suspicion > 1.96) - 0.05) < 0.012


def test_a_lying_meter_fails_the_global_test():
    measured = made(200, 3)
    measured[:, 3] += 6.0
    found = reconcile.reconcile(measured, np.diag(SD**2), NODE)
    assert np.mean(found.p < 0.05) > 0.95


def test_the_liar_is_told_where_two_balances_meet():
    balances = np.array([[1.0, 1.0, -1.0, 0.0, 0.0], [0.0, 0.0, 1.0, -1.0, -1.0]])
    truth = np.array([60.0, 40.0, 100.0, 70.0, 30.0])
    rng = np.random.default_rng(4)
    measured = truth + rng.standard_normal((200, 5))
    measured[:, 2] += 6.0
    found = reconcile.reconcile(measured, np.eye(5), balances)
    assert found.redundancy == 2
    assert np.mean(np.argmax(found.suspicion, axis=1) == 2) > 0.95


def test_a_balance_said_twice_counts_once():
    twice = np.vstack([NODE, 2.0 * NODE])
    once = reconcile.reconcile(made(10, 5), np.diag(SD**2), NODE)
    again = reconcile.reconcile(made(10, 5), np.diag(SD**2), twice)
    assert again.redundancy == 1
    np.testing.assert_allclose(again.values, once.values, atol=1e-9)
    np.testing.assert_allclose(again.misfit, once.misfit, atol=1e-9)


def test_known_flow_on_the_right_side():
    measured = made(3, 6)[:, :4]
    leak = np.array([[0.5], [0.7], [0.9]])
    found = reconcile.reconcile(measured, np.diag(SD[:4] ** 2), NODE[:, :4], leak)
    np.testing.assert_allclose(found.values @ NODE[0, :4], leak[:, 0], atol=1e-9)


def test_an_unchecked_meter_has_no_suspicion_and_a_missing_one_blanks_its_row():
    balances = np.append(NODE, [[0.0]], axis=1)
    measured = np.append(made(2, 7), [[3.0], [3.0]], axis=1)
    measured[1, 0] = np.nan
    found = reconcile.reconcile(measured, np.diag(np.append(SD, 0.1) ** 2), balances)
    assert np.isnan(found.suspicion[:, 5]).all()
    assert found.values[0, 5] == 3.0
    assert np.isfinite(found.suspicion[0, :5]).all()
    assert np.isnan(found.values[1]).all()
    assert np.isnan(found.p[1])
