"""The same readings in other units, another form and another clock are the same incidents."""

import exported
import numpy as np
import pandas as pd
import pytest

from sevenppb.detect import vessel_scan

FORMS = ("wide-parquet", "american", "spreadsheet")


@pytest.fixture(scope="module")
def scans(made, tmp_path_factory):
    folder = tmp_path_factory.mktemp("units")
    vessels = [exported.written(folder / form, made["choked-vent"], form) for form in FORMS]
    return [vessel_scan.scan_vessel(vessel, exported.read(vessel)) for vessel in vessels]


def test_incidents_are_the_same(scans):
    first, *others = scans
    assert [i.cause for i in first.incidents] == ["choked-vent"]
    for other in others:
        assert [(i.id, i.cause, i.shape) for i in other.incidents] == [
            (i.id, i.cause, i.shape) for i in first.incidents
        ]
        for one, same in zip(first.incidents, other.incidents, strict=True):
            assert abs(one.first_flagged - same.first_flagged) <= pd.Timedelta(days=1)
            assert abs(one.onset - same.onset) <= pd.Timedelta(days=2)
            assert one.magnitude.value == pytest.approx(same.magnitude.value, rel=0.05)
            assert one.urgency == pytest.approx(same.urgency, rel=0.05)


def test_daily_values_are_the_same_but_for_rounding(scans):
    first, *others = scans
    for other in others:
        assert list(other.daily) == list(first.daily)
        for column in ("observed_subcooling", "observed_steam_flow", "observed_outlet_oxygen"):
            np.testing.assert_allclose(other.daily[column], first.daily[column], rtol=2e-3, atol=0.02)


def test_every_value_is_accounted_for(scans):
    for found in scans:
        assert found.tally.to_numpy().sum() == found.readings
