"""CUSUM and EWMA charts and their run lengths against handbooks and papers."""

import numpy as np
import pytest

from sevenppb.detect.drift import cusum, ewma, runlength


def digits(printed):
    """Half a unit of the last of three printed digits."""
    return 0.5 * 10.0 ** (np.floor(np.log10(printed)) - 2)


def pair_runs(h, shift):
    """Run length of a pair of CUSUMs, k 0.5, from zero: the two sides' rates add up exactly there (Lucas and Crosier,
    1982, Technometrics 24)."""
    return 1.0 / sum(1.0 / runlength.cusum_arl(0.5, h, side * shift) for side in (1.0, -1.0))


def test_nist_cusum(table):
    """NIST/SEMATECH e-Handbook, section 6.3.2.3: target 325, k 0.3175, h 4.1959; out from group 14 on, below
    never."""
    rows = table("nist_pmc323.csv")
    off = rows["group"] - 325.0
    high, low = cusum.one_sided(off, 0.3175), cusum.one_sided(-off, 0.3175)
    np.testing.assert_allclose(high, rows["high"], rtol=0, atol=1e-9)
    np.testing.assert_allclose(low, rows["low"], rtol=0, atol=1e-9)
    assert np.flatnonzero(high > 4.1959).tolist() == list(range(13, 20))
    assert not np.any(low > 4.1959)


def test_nist_ewma(table):
    """NIST/SEMATECH e-Handbook, section 6.3.2.4: long-run limits 47.4115 and 52.5884 at 3 deviations, no
    point out."""
    rows = table("nist_pmc324.csv")
    means, spread = ewma.paths((rows["value"] - 50.0) / 2.0539, 0.3)
    np.testing.assert_allclose(50.0 + 2.0539 * means, rows["ewma"], rtol=0, atol=0.0051)
    assert abs(50.0 + 3.0 * 2.0539 * spread[-1] - 52.5884) < 1e-3  # 52.5884 uses 0.4201 for sqrt(0.3 / 1.7)
    assert np.all(np.abs(means) < 3.0 * spread[-1])


def test_lucas_and_crosier(table):
    rows = table("lucas_crosier_1982_table_1.csv")
    found = np.array([pair_runs(4.0, shift) for shift in rows["shift"]])
    assert np.all(np.abs(found - rows["arl"]) <= digits(rows["arl"]) * 1.01)


def test_montgomery_row():
    """Montgomery, Introduction to Statistical Quality Control: k 0.5, h 5 (from memory, every value confirmed
    by an independent integral-equation code)."""
    shifts = [0, 0.25, 0.5, 0.75, 1, 1.5, 2, 2.5, 3, 4, 5]
    printed = np.array([465, 139, 38.0, 17.0, 10.4, 5.75, 4.01, 3.11, 2.57, 2.01, 1.69])
    found = np.array([pair_runs(5.0, shift) for shift in shifts])
    assert np.all(np.abs(found - printed) <= digits(printed) * 1.2)


def test_one_sided_anchors():
    """Brook and Evans (1972), Biometrika 59: k 0.5, h 3; SAS/QC documentation, function CUSUMARL: k 0.25, h
    8, shift 2.5."""
    assert abs(runlength.cusum_arl(0.5, 3.0) - 117.59) < 0.01
    assert abs(runlength.cusum_arl(0.25, 8.0, 2.5) - 4.1500836225) < 1e-6


def test_vance():
    """Vance (1986), Average run lengths of cumulative sum control charts for controlling normal means,
    Journal of Quality Technology 18: k 0, h 10. (At -0.25 it prints 2071.51; two codes give 2071.57.)"""
    shifts = (-0.25, -0.125, 0.0, 0.125, 0.25, 0.5, 0.75, 1.0)
    printed = (2071.51, 400.28, 124.66, 59.30, 36.71, 20.37, 14.06, 10.75)
    found = [runlength.cusum_arl(0.0, 10.0, shift) for shift in shifts]
    np.testing.assert_allclose(found[0], printed[0], rtol=5e-5)
    np.testing.assert_allclose(found[1:], printed[1:], rtol=0, atol=0.0055)


def test_crowder():
    """Crowder (1987), Technometrics 29, 401: two-sided EWMA, limit 2, weights 0.5 and 0.05."""
    shifts = (0, 0.25, 0.5, 0.75, 1)
    for weight, printed in (
        (0.5, (26.45, 20.12, 11.89, 7.29, 4.91)),
        (0.05, (127.53, 43.94, 18.97, 11.64, 8.38)),
    ):
        found = [runlength.ewma_arl(weight, 2.0, shift) for shift in shifts]
        np.testing.assert_allclose(found, printed, rtol=0, atol=0.0051)


def test_lucas_and_saccucci(table):
    rows = table("lucas_saccucci_1990_table_3.csv")
    for column, weight, limit in (("arl_050", 0.5, 3.071), ("arl_003", 0.03, 2.437)):
        found = np.array([runlength.ewma_arl(weight, limit, shift) for shift in rows["shift"]])
        np.testing.assert_allclose(found, rows[column], rtol=0.003)


def test_ewma_of_the_sas_documentation():
    """SAS/QC documentation, function EWMAARL(1.0, 0.25, 3.0)."""
    assert abs(runlength.ewma_arl(0.25, 3.0, 1.0) - 11.154267016) < 1e-8


def test_shewhart_is_an_ewma_without_memory():
    """Three-sigma limits: 370.4 (any textbook of quality control)."""
    assert abs(runlength.ewma_arl(1.0, 3.0) - 370.398) < 1e-3


@pytest.mark.parametrize(
    ("k", "arl", "h"),
    [
        (0.5, 200, 4.1713),
        (0.5, 370.4, 4.7749),
        (0.5, 10_000, 8.053),
        (0.25, 500, 8.5851),
        (0.25, 1000, 9.9312),
    ],
)
def test_two_sided_cusum_limits(k, arl, h):
    """h of a pair for a wanted run length, half of one side's own (computed with an independent code; 4.77 for 370 in
    Montgomery)."""
    assert abs(runlength.cusum_threshold(k, 2.0 * arl) - h) < 1e-4


@pytest.mark.parametrize(
    ("weight", "arl", "limit"),
    [(0.05, 370.4, 2.4901), (0.1, 500, 2.8143), (0.2, 1000, 3.1866), (0.4, 370.4, 2.9589)],
)
def test_two_sided_ewma_limits(weight, arl, limit):
    """Limits for a wanted run length (computed with an independent code; Lucas and Saccucci print 2.814 for
    0.1, 500)."""
    assert abs(runlength.ewma_limit(weight, arl) - limit) < 1e-4


def run_lengths(course, k, h, noise):
    """First row, counted from 1, on which each column's chart is above h; every one must get there."""
    chart = cusum.one_sided(noise + course[:, None], k)
    assert np.all(chart[-1] > h)
    return np.argmax(chart > h, axis=0) + 1


def assert_mean(runs, printed):
    error = runs.std() / np.sqrt(runs.size)
    assert abs(runs.mean() - printed) < 4.0 * error + digits(printed)


def assert_run_length(over, printed):
    """The mean of exponential run lengths from charts over the limit or not [rows, runs], some cut short."""
    alarmed = over.any(axis=0)
    rows = np.where(alarmed, over.argmax(axis=0) + 1, len(over)).sum()
    found = rows / alarmed.sum()
    assert abs(found - printed) < 4.0 * found / np.sqrt(alarmed.sum()) + digits(printed)


@pytest.mark.parametrize(
    ("h", "shift", "printed"),
    # Lucas and Crosier (1982), Table 1, and Montgomery's row, as above
    [
        (4.0, 0.0, 168.0),
        (4.0, 0.5, 26.6),
        (4.0, 1.0, 8.38),
        (5.0, 0.0, 465.0),
        (5.0, 0.5, 38.0),
        (5.0, 1.0, 10.4),
    ],
)
def test_run_lengths_of_the_cusum_itself(h, shift, printed):
    """By simulation, two-sided, k 0.5."""
    noise = np.random.default_rng(19820101).standard_normal((1500 if shift == 0 else 300, 1000))
    moved = noise + shift
    assert_run_length((cusum.one_sided(moved, 0.5) > h) | (cusum.one_sided(-moved, 0.5) > h), printed)


@pytest.mark.parametrize(
    ("weight", "limit", "shift", "printed"),
    # Crowder (1987); Lucas and Saccucci (1990), Table 3
    [(0.05, 2.0, 0.0, 127.53), (0.05, 2.0, 0.5, 18.97), (0.5, 3.071, 0.0, 500.0), (0.03, 2.437, 0.25, 76.7)],
)
def test_run_lengths_of_the_ewma_itself(weight, limit, shift, printed):
    """By simulation, two-sided, against the long-run deviation."""
    noise = np.random.default_rng(19870101).standard_normal((1500 if shift == 0 else 600, 1000))
    means, _ = ewma.paths(noise + shift, weight)
    assert_run_length(np.abs(means) > limit * np.sqrt(weight / (2.0 - weight)), printed)


def test_run_lengths_under_a_slow_drift(table):
    """Zou et al. (2009), by simulation with the chart itself: what a slow fault costs in days. Sample i is
    shifted by i times the drift, i from 1."""
    rows = table("zou_2009_table_1.csv")
    noise = np.random.default_rng(20090101).standard_normal((400, 3000))
    steps = np.arange(1, 401)
    for column, k, h in (
        ("k025_h9660", 0.25, 9.660),
        ("k050_h5620", 0.5, 5.620),
        ("k075_h3904", 0.75, 3.904),
    ):
        for drift, printed in zip(rows["drift"], rows[column], strict=True):
            if not np.isnan(printed):
                assert_mean(run_lengths(drift * steps, k, h, noise), printed)


def test_run_lengths_under_a_drift_of_gan():
    """Gan (1992), CUSUM control charts under linear drift, The Statistician 41: k 0.25, h 8; as given in the
    help of a public R package for run lengths. Sample i is shifted by i times the drift, i from 0."""
    noise = np.random.default_rng(19920101).standard_normal((400, 3000))
    steps = np.arange(400)
    for drift, printed in ((0.005, 76.3), (0.01, 52.0), (0.05, 21.4), (0.1, 15.0), (1.0, 5.16)):
        assert_mean(run_lengths(drift * steps, 0.25, 8.0, noise), printed)
