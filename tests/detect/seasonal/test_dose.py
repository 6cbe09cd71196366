"""The scavenger's dose may explain outlet oxygen, and nothing else."""

import diagnosed
import made_vessels
import numpy as np
import pytest

from sevenppb.detect.seasonal.terms import DOSE


@pytest.fixture(scope="module")
def dosed():
    """A vessel whose dose wanders, and the same without a meter of it."""
    made = made_vessels.copies({"healthy": None})["healthy"]
    rng = np.random.default_rng(3)
    with_dose = made.readings.copy()
    wander = np.cumsum(rng.normal(0.0, 0.01, len(with_dose)))
    with_dose["scavenger_flow"] = 2e-7 * with_dose["inlet_flow"] * np.exp(wander)
    without = diagnosed.bench(made).days
    made.readings["scavenger_flow"] = with_dose["scavenger_flow"]
    return diagnosed.bench(made).days, without


def test_the_dose_is_a_term_where_it_is_recorded(dosed):
    found, without = dosed
    assert DOSE.name in found.term_names
    assert not [name for name in without.term_names if name.startswith(DOSE.name)]


def test_only_outlet_oxygen_may_hang_on_it(dosed):
    found, _ = dosed
    terms = [k for k, name in enumerate(found.term_names) if name.startswith(DOSE.name)]
    free = {
        feature for feature, prior in zip(found.features, found.prior[:, terms], strict=True) if prior.any()
    }
    assert free == {"outlet_oxygen", "outlet_oxygen_swing"}
