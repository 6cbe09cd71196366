"""A watch replayed day by day says what one scan over the whole span says of the same days."""

from dataclasses import replace

import exported
import made_vessels
import numpy as np
import pandas as pd
import pytest

from sevenppb.detect import vessel_scan

DAYS = (250, 280, 315, 340)
CASES = ("fouled-sprays", "open vent put right", "flooded-trays")


@pytest.mark.parametrize("case", CASES)
def test_first_flagged_needs_no_later_reading(scan_of, case):
    """Of what both list, since later readings may also tell a doubtful alarm from chance."""
    whole = {(i.cause, i.role): i for i in scan_of(case).incidents}
    compared = 0
    for cut in (made_vessels.day(number) for number in DAYS):
        replayed = {(i.cause, i.role): i for i in scan_of(case, until=cut).incidents}
        assert all(i.first_flagged < cut for i in replayed.values())
        for name in whole.keys() & replayed.keys():
            if whole[name].first_flagged < cut:
                assert replayed[name].first_flagged == whole[name].first_flagged
                compared += 1
    assert compared >= 2


@pytest.mark.parametrize("case", CASES)
def test_what_is_flagged_is_told_on_that_day_and_not_before(scan_of, case):
    """The day itself is read: a scan that ends with it tells the incident, one that ends before it tells none."""
    first = min(scan_of(case).incidents, key=lambda i: i.first_flagged)
    told = scan_of(case, until=first.first_flagged + pd.Timedelta(days=1)).incidents
    assert first.first_flagged in {i.first_flagged for i in told}
    assert scan_of(case, until=first.first_flagged).incidents == ()


@pytest.mark.parametrize("case", CASES)
def test_a_days_charts_and_features_know_no_later_day(scan_of, case):
    whole = scan_of(case).daily
    for number in DAYS:
        replayed = scan_of(case, until=made_vessels.day(number)).daily
        causal = [c for c in replayed if c.startswith(("chart_", "observed_", "hours", "flow"))]
        assert len(causal) > 20
        before = whole.loc[: made_vessels.day(number - 1), causal]
        assert len(before) == len(replayed)
        np.testing.assert_allclose(before, replayed[causal], rtol=1e-6, atol=1e-8)


@pytest.fixture(scope="module")
def vessel(made, tmp_path_factory):
    return exported.written(tmp_path_factory.mktemp("until"), made["open-vent"], "wide-csv")


def test_until_is_as_if_the_exports_ended_there(vessel, tmp_path):
    """In every step: reading, judging, baseline, season, charts, diagnosis."""
    cut = made_vessels.day(270) - pd.Timedelta(microseconds=1)
    export = tmp_path / "ended.csv"
    table = pd.read_csv(vessel.exports[0], dtype=str, keep_default_na=False)
    stamps = pd.to_datetime(table.iloc[:, 0], utc=True)
    table[stamps <= cut].to_csv(export, index=False)
    asked = exported.read(vessel, until=cut)
    ended = exported.read(replace(vessel, exports=(str(export),)))
    pd.testing.assert_frame_equal(asked.hourly, ended.hourly)
    pd.testing.assert_frame_equal(asked.tally, ended.tally)
    first, second = (vessel_scan.scan_vessel(vessel, readings) for readings in (asked, ended))
    assert first.incidents == second.incidents
    assert [i.cause for i in first.incidents] == ["open-vent"]
    pd.testing.assert_frame_equal(first.daily, second.daily)
