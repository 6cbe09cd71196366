"""No order of healthy days is a fault."""

from dataclasses import replace

import made_vessels
import numpy as np


def shuffled(made, seed):
    """The same days in another order, each whole."""
    hourly = made.readings
    days = hourly.to_numpy().reshape(-1, 24, hourly.shape[1])
    mixed = hourly.copy()
    mixed[:] = np.random.default_rng(seed).permutation(days).reshape(hourly.shape)
    return replace(made, readings=mixed)


def test_healthy_days_in_any_order_are_silent(made):
    found = made_vessels.scanned(shuffled(made["healthy"], 1))
    assert found.state == "scanned"
    assert found.incidents == ()


def test_the_order_of_columns_means_nothing(made, scan_of):
    hourly = made["choked-vent"].readings
    turned = replace(made["choked-vent"], readings=hourly[hourly.columns[::-1]])
    assert made_vessels.scanned(turned).incidents == scan_of("choked-vent").incidents


def test_a_second_scan_in_one_process_says_the_same(made, scan_of):
    again = made_vessels.scanned(made["heat-loss"])
    assert again.incidents == scan_of("heat-loss").incidents
    assert again.coverage == scan_of("heat-loss").coverage
