"""Reconciliation against a standard's appendix and two published flow networks."""

import numpy as np
from scipy.stats import chi2

from sevenppb.detect.balance import reconcile

HEAT_CIRCUIT = np.array(
    [
        [1, 1, -1, -1, 0.4, 0, 0, 0, 0, 0],
        [0, 0, 1, 1, -1.0, -1, -1, -1, -1, 0],
        [0, 0, 0, 0, 0, 0, 1, 1, 1, -1],
    ]
)
NETWORK = np.array([[1, -1, -1, 0, 0, 0], [0, 1, 0, -1, 0, 0], [0, 0, 1, 0, -1, 0], [0, 0, 0, 1, 1, -1]])


def heat_circuit(rows, feed_half_width=None):
    half = rows["half_width"].copy()
    if feed_half_width is not None:
        half[:2] = feed_half_width
    sd = half / 1.96
    covariance = np.diag(sd**2)
    for i, j, correlation in ((0, 1, 0.2), (2, 3, 0.4)):
        covariance[i, j] = covariance[j, i] = correlation * sd[i] * sd[j]
    return reconcile.reconcile(rows["measured"][None], covariance, HEAT_CIRCUIT)


def test_steam_turbine_circuit_of_vdi_2048(table):
    """VDI 2048 Part 1 (October 2000), Appendix A."""
    rows = table("vdi_2048_appendix_a.csv")
    found = heat_circuit(rows)
    np.testing.assert_allclose(found.values[0], rows["reconciled"], rtol=0, atol=6e-5)
    half = 1.96 * np.sqrt(np.diag(found.covariance))
    np.testing.assert_allclose(half, rows["new_half_width"], rtol=0, atol=6e-5)
    np.testing.assert_allclose(found.suspicion[0], rows["suspicion"], rtol=0, atol=6e-3)
    np.testing.assert_allclose(HEAT_CIRCUIT @ found.values[0], 0.0, atol=1e-10)
    assert found.redundancy == 3
    assert abs(found.misfit[0] - 20.31) < 0.01
    assert found.misfit[0] > chi2.ppf(0.95, 3)
    assert found.p[0] < 0.001
    assert set(np.argsort(found.suspicion[0])[-2:]) == {0, 1}  # the two feed meters are to blame


def test_widened_feed_meters_satisfy_vdi_2048(table):
    """The same with half-widths of 2.5 kg/s for the feed meters: the global test passes (recomputed)."""
    found = heat_circuit(table("vdi_2048_appendix_a.csv"), feed_half_width=2.5)
    assert abs(found.misfit[0] - 2.537) < 2e-3
    expected = [44.696, 44.123, 44.6426, 44.3861, 0.5245, 70.005, 10.3642, 3.744, 4.391, 18.4993]
    np.testing.assert_allclose(found.values[0], expected, rtol=0, atol=6e-4)


def test_six_streams_with_a_gross_error():
    """A six-stream network quoted in a public unit test to 1e-8."""
    measured = np.array([[110.5, 60.8, 35.0, 68.9, 38.6, 101.4]])
    found = reconcile.reconcile(measured, np.diag([0.6724, 0.2809, 0.2116, 0.5041, 0.2025, 1.44]), NETWORK)
    expected = [103.24010825, 65.41556049, 37.82454776, 65.41556049, 37.82454776, 103.24010825]
    np.testing.assert_allclose(found.values[0], expected, rtol=0, atol=1e-8)
    assert abs(found.misfit[0] - 221.3) < 0.05
    assert chi2.ppf(0.95, found.redundancy) < 9.49


def test_six_streams_without():
    """Narasimhan and Jordache, Data Reconciliation and Gross Error Detection (2000), the same network with
    unit variances (printed answers from memory, recomputed exactly)."""
    found = reconcile.reconcile(np.array([[101.91, 64.45, 34.65, 64.20, 36.44, 98.88]]), np.eye(6), NETWORK)
    np.testing.assert_allclose(found.values[0], [100.22, 64.50, 35.72, 64.50, 35.72, 100.22], atol=6e-3)
    assert abs(found.misfit[0] - 6.4075) < 1e-3
    assert found.p[0] > 0.05


def test_deaerator_node_by_hand():
    """Out 100 (1.0) = in 72 (1.0) + 20 (0.5) + 9.5 (0.3): the misfit of -1.5 is shared in proportion to the
    variances."""
    variances = np.array([1.0, 1.0, 0.25, 0.09])
    found = reconcile.reconcile(
        np.array([[100.0, 72.0, 20.0, 9.5]]), np.diag(variances), np.array([[1.0, -1.0, -1.0, -1.0]])
    )
    shares = 1.5 * variances / variances.sum() * np.array([1, -1, -1, -1])
    np.testing.assert_allclose(found.values[0], np.array([100.0, 72.0, 20.0, 9.5]) + shares, atol=1e-12)
    np.testing.assert_allclose(
        np.sqrt(np.diag(found.covariance)), [0.7567, 0.7567, 0.4725, 0.2942], atol=6e-5
    )
    assert abs(found.misfit[0] - 0.9615) < 6e-5
