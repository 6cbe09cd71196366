"""What a diagnosis holds before it looks, and what its sizes and patterns rest on."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from sevenppb.detect.balance.health import DIRECT
from sevenppb.detect.causes import CAUSES
from sevenppb.detect.diagnosis import explained, likelihood, priors
from sevenppb.detect.settings import DEFAULTS


def shares(diagnosis):
    out = {}
    for e in diagnosis.explanations:
        out[e.cause] = out.get(e.cause, 0.0) + e.probability
    return out


@pytest.fixture
def all_show(monkeypatch):
    """No candidate is left out because readings that say nothing would not show it."""
    monkeypatch.setattr(likelihood, "WORTH_ASKING", 0.0)


@pytest.mark.usefixtures("all_show")
def test_readings_that_say_nothing_leave_the_priors(full):
    """All sensors together weigh as said beside each process cause, whatever number of them there is, but for an oxygen
    analyser that reads low: cells wear out (common practice, no source)."""
    alone = replace(full, patterns=replace(full.patterns, own=()))
    diagnosis = alone.diagnosis(full.effect(), error=1e6)
    told = shares(diagnosis)
    process = [told[slug] for slug, cause in CAUSES.items() if cause.parameter is not None]
    np.testing.assert_allclose(process, process[0], rtol=1e-3)
    drifts = [e for e in diagnosis.explanations if e.cause == "sensor-drift"]
    each = priors.SENSORS / len(drifts)
    for e in drifts:
        low = (e.role, e.candidate.sign) == ("outlet_oxygen", -1)
        weighs = each * (priors.AGEING if low else 1.0)
        assert e.probability / process[0] == pytest.approx(weighs, rel=1e-3)
    assert told["unexplained"] / process[0] == pytest.approx(priors.UNEXPLAINED, rel=1e-3)


def test_a_larger_budget_of_false_incidents_takes_less_for_nothing(full):
    """Where readings wander it is not the charts' thresholds that keep the budget."""
    change, features = full.change(full.effect(), error=1e6), np.eye(len(full.days.features))
    budgets = np.array([0.01, 0.1, 1.0])
    asked = [replace(DEFAULTS, false_alarms=budget) for budget in budgets]
    nothing = np.array([likelihood.nothing(full.days, change, full.patterns, features, s) for s in asked])
    odds = nothing / (1.0 - nothing)
    np.testing.assert_allclose(odds / odds[-1], budgets**-priors.BUDGET_POWER, rtol=1e-6)


@pytest.mark.usefixtures("all_show")
@pytest.mark.parametrize("gained", [0.0, 5.0, 200.0])
def test_a_change_that_goes_with_the_load_speaks_for_what_shows_at_high_load(full, gained):
    alone = replace(full, patterns=replace(full.patterns, own=()))
    change = replace(alone.change(full.effect(), error=1e6), by_load=gained)
    features = np.eye(len(full.days.features))
    told = shares(likelihood.diagnose(full.days, change, alone.patterns, features, DEFAULTS))
    weighs = np.exp(min(gained / priors.LOAD_GAIN, priors.MOST_BY_LOAD))
    for slug in ("flooded-trays", "steam-starvation"):
        assert told[slug] / told["choked-vent"] == pytest.approx(weighs, rel=1e-3)
    assert told["tray-damage"] / told["choked-vent"] == pytest.approx(1.0, rel=1e-3)


@pytest.mark.parametrize("slug", ["choked-vent", "fouled-sprays"])
def test_the_reading_that_shows_a_parameter_directly_tells_its_size_best(full, slug, monkeypatch):
    assert DIRECT[CAUSES[slug].parameter] in full.days.features
    with_it = full.diagnosis(full.pattern(slug)).explanations[0]
    monkeypatch.setattr(likelihood, "DIRECT", {})
    without = full.diagnosis(full.pattern(slug)).explanations[0]
    assert with_it.cause == without.cause == slug
    assert np.log(with_it.high / with_it.low) < 0.9 * np.log(without.high / without.low)


@pytest.mark.parametrize("times", [1.0, 3.0])
def test_the_pattern_told_has_the_size_told(full, times):
    effect = times * full.pattern("choked-vent")
    own = list(full.days.features).index("vent_flow")
    assert full.diagnosis(effect).explanations[0].pattern[own] == pytest.approx(effect[own], rel=0.35)


def test_an_unexplained_change_moves_one_to_three_residuals_or_all():
    rows = [set(np.flatnonzero(row)) for row in likelihood._few(5)]
    assert [len(row) for row in rows] == [1] * 5 + [2] * 10 + [3] * 10 + [5]
    assert len({frozenset(row) for row in rows}) == len(rows)


def test_a_plant_may_differ_in_size_but_not_in_sign():
    """By hand: two natural moves predicted, so each residual may spill 0.12 of its natural move twice; and what moves
    as predicted, half of the prediction besides."""
    natural, mean = np.array([1.0, 2.0]), np.array([2.0, -1.0])
    both = explained.granted(np.array([1.5, -1.0]), mean, natural, explained.Doubt(np.full(2, 0.5)))
    first_only = explained.granted(np.array([1.5, 1.0]), mean, natural, explained.Doubt(np.full(2, 0.5)))
    np.testing.assert_allclose(both, [1.0 + 0.24**2, 0.25 + 0.48**2])
    np.testing.assert_allclose(first_only, [1.0 + 0.24**2, 0.48**2])


@pytest.mark.parametrize("place", [None, 0, 2])
def test_likelihoods_are_those_of_normal_densities(place):
    """And with a loose effect, of a mixture of two of them."""
    rng = np.random.default_rng(1)
    x, mean = rng.standard_normal(3), rng.standard_normal((2, 5, 3))
    root = rng.standard_normal((3, 3))
    covariance, allowed = root @ root.T, rng.uniform(0.1, 2.0, (2, 5, 3))
    loose = None if place is None else explained.Loose(place, variance=4.0, chance=0.1)
    found = explained.allowing(x, explained.Scatter(covariance, loose), mean, allowed)
    for k, s in np.ndindex(2, 5):
        usual = covariance + np.diag(allowed[k, s])
        told = multivariate_normal(mean[k, s], usual).pdf(x)
        if place is not None:
            more = np.diag(np.where(np.arange(3) == place, 4.0, 0.0))
            told = 0.9 * told + 0.1 * multivariate_normal(mean[k, s], usual + more).pdf(x)
        assert found[k, s] == pytest.approx(np.log(told) + 1.5 * np.log(2.0 * np.pi))
