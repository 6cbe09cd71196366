"""The baseline's health in natural units."""

import dataclasses

import numpy as np
import pytest

from sevenppb.detect.balance import health as table
from sevenppb.detect.balance.fit import Fitted
from sevenppb.detect.balance.health import Health
from sevenppb.detect.incidents.baseline_health import UNITS, baseline_health


def fitted(**changes: float) -> Fitted:
    usual = Health(40.0, 1.4e5, 6e5, 1.01325e5)
    names = [row[0] for row in table.FITTED]
    error = {name: 0.1 for name in names}
    return Fitted(dataclasses.replace(usual, **changes), usual, error, ("inlet_gas",))


def test_each_parameter_has_its_interval_on_its_own_scale() -> None:
    rows = {row.parameter: row for row in baseline_health(fitted(vent_share=0.002, heat_loss=0.5))}
    vent, loss = rows["vent_share"], rows["heat_loss"]
    # 1.645 standard errors of 0.1: a ratio on the log scale, a difference on the additive one
    assert (vent.low, vent.high) == pytest.approx((0.002 / np.exp(0.1645), 0.002 * np.exp(0.1645)))
    assert (loss.low, loss.high) == pytest.approx((0.5 - 0.1645, 0.5 + 0.1645))
    assert vent.usual == Health(1.0, 1.0, 1.0, 1.0).vent_share
    assert (vent.unit, loss.unit) == ("fraction", "K")


def test_what_the_tags_do_not_show_is_marked_and_bounds_hold() -> None:
    rows = {row.parameter: row for row in baseline_health(fitted(heat_loss=0.05))}
    assert [name for name, row in rows.items() if not row.determined] == ["inlet_gas"]
    assert rows["heat_loss"].low == 0.0
    assert set(UNITS) <= set(rows)
