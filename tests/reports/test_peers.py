"""Who leaves the other vessels, since when, and what all do together: on weeks made up by hand."""

import numpy as np
import pandas as pd

from sevenppb.reports.views import peers

WEEKS = pd.date_range("2025-01-06", periods=40, freq="W-MON", tz="UTC")


def weeks(**vessels: float) -> pd.DataFrame:
    """Quiet weeks, each vessel about its own level."""
    rng = np.random.default_rng(5)
    return pd.DataFrame(
        {name: level + 0.3 * rng.standard_normal(40) for name, level in vessels.items()}, index=WEEKS
    )


def test_the_one_that_leaves_is_named_with_the_week_it_left() -> None:
    frame = weeks(a=0.0, b=0.0, c=0.0, d=0.0)
    frame.loc[WEEKS[25] :, "c"] -= 5.0
    (found,) = peers.apart(frame, "subcooling")
    assert (found.vessel, found.feature) == ("c", "subcooling")
    assert abs(found.distance - -5.0) < 0.5
    assert abs((found.since - WEEKS[25]).days) <= 7


def test_one_quiet_week_does_not_end_a_stretch() -> None:
    frame = weeks(a=0.0, b=0.0, c=0.0)
    frame.loc[WEEKS[20] :, "a"] += 4.0
    frame.loc[WEEKS[30], "a"] = 0.0
    (found,) = peers.apart(frame, "subcooling")
    assert abs((found.since - WEEKS[20]).days) <= 7


def test_what_all_do_is_no_ones_fault_and_is_told_as_common() -> None:
    frame = weeks(a=0.0, b=0.0, c=0.0, d=0.0)
    frame.iloc[10:18] += 3.0
    frame.iloc[36:] -= 3.0
    assert peers.apart(frame, "steam_flow") == ()
    rise, fall = peers.common(frame, "steam_flow")
    assert (rise.first, rise.last) == (WEEKS[10], WEEKS[17])
    assert (fall.first, fall.last) == (WEEKS[36], WEEKS[39])
    assert rise.move > 2.5
    assert fall.move < -2.5


def test_a_short_move_of_all_is_not_told() -> None:
    frame = weeks(a=0.0, b=0.0, c=0.0)
    frame.iloc[10:13] += 3.0
    assert peers.common(frame, "steam_flow") == ()


def test_two_vessels_have_no_others() -> None:
    frame = weeks(a=0.0, b=6.0)
    assert peers.apart(frame, "subcooling") == ()
    assert peers.common(frame, "subcooling") == ()


def test_weeks_without_readings_are_bridged_not_counted() -> None:
    frame = weeks(a=0.0, b=0.0, c=0.0)
    frame.loc[WEEKS[20] :, "b"] += 4.0
    frame.loc[WEEKS[26] : WEEKS[29], "b"] = np.nan
    (found,) = peers.apart(frame, "subcooling")
    assert found.vessel == "b"
    assert abs((found.since - WEEKS[20]).days) <= 7
