"""Cut the readings anywhere: what a watch had raised by then is what one scan over the whole span raises by then, alarm
by alarm, and every day's charts are the same. Whatever the vessel, its gaps, its work, its new tags and its baseline."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import made_vessels
import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from sevenppb import detect
from sevenppb.detect import vessel_steps
from sevenppb.detect.expected import Days
from sevenppb.detect.fleet import Work
from sevenppb.detect.settings import DEFAULTS
from sevenppb.detect.vessel_steps import Found
from sevenppb.synthetic.simulation import Simulated

HOURS = 24 * made_vessels.DAYS
RESETS = ("sprays", "vent", "trays", "air-in-leakage", "sensor:storage_temperature", "all")
NEW_TAGS = ("vent_temperature", "vent_flow", "inlet_oxygen", "steam_flow", "spray_differential")


@dataclass(frozen=True)
class Story:
    """A made-up vessel's case and what else befalls its readings: outages (hour, hours), work (day, what it resets), a tag
    that is read from a day on only; the baseline's length [days], None for the default."""

    case: str
    outages: tuple[tuple[int, int], ...]
    work: tuple[tuple[int, str], ...]
    new_tag: tuple[str, int] | None
    baseline: int | None


stories = st.builds(
    Story,
    case=st.sampled_from(sorted(made_vessels.CASES)),
    outages=st.lists(st.tuples(st.integers(0, HOURS), st.integers(5, 300)), max_size=3).map(tuple),
    work=st.lists(st.tuples(st.integers(100, 320), st.sampled_from(RESETS)), max_size=2).map(tuple),
    new_tag=st.none() | st.tuples(st.sampled_from(NEW_TAGS), st.integers(10, 300)),
    baseline=st.none() | st.integers(60, 220),
)


def read(made: Simulated, story: Story) -> pd.DataFrame:
    hourly = made.readings.copy()
    for start, length in story.outages:
        hourly.iloc[start : start + length] = np.nan
    if story.new_tag is not None:
        role, day = story.new_tag
        hourly.loc[hourly.index < made_vessels.day(day), role] = np.nan
    return hourly


def watched(made: Simulated, hourly: pd.DataFrame, story: Story) -> tuple[Days, Found] | None:
    """Days and alarms that a scan goes through; None where there is too little data."""
    length = None if story.baseline is None else pd.Timedelta(days=story.baseline)
    work = tuple(Work(made_vessels.day(day), "work", (what,)) for day, what in story.work)
    vessel = replace(made_vessels.described(made, work), baseline=length)
    kept: dict[str, Any] = {}

    def keeping(step: Callable[..., Any]) -> Callable[..., Any]:
        def kept_too(*args: Any, **named: Any) -> Any:
            kept[step.__name__] = step(*args, **named)
            return kept[step.__name__]

        return kept_too

    with pytest.MonkeyPatch.context() as patch:
        for step in (vessel_steps.residual_days, vessel_steps.find_episodes):
            patch.setattr(vessel_steps, step.__name__, keeping(step))
        detect.scan_vessel(vessel, made_vessels.as_read(made, hourly))
    return (kept["residual_days"][0], kept["find_episodes"]) if kept else None


def raised(days: Days, found: Found, before: pd.Timestamp) -> pd.DataFrame:
    """Each alarm's day, and all that was told of its change on that day."""
    alarms = [alarm for alarm in found.search.alarms if days.index[alarm.day] < before]
    told = pd.DataFrame([np.nan_to_num(alarm.change.effect / alarm.change.error) for alarm in alarms])
    told["day"] = [days.index[alarm.day] for alarm in alarms]
    told["onset"] = [days.index[alarm.change.onset] for alarm in alarms]
    told["shape"] = [alarm.change.shape for alarm in alarms]
    return told


@pytest.fixture(scope="module")
def watch(made):
    """Days and alarms of a story, from all readings or from those before a day."""

    @cache
    def scan(story: Story, cut: pd.Timestamp | None = None) -> tuple[Days, Found] | None:
        hourly = read(made[story.case], story)
        return watched(made[story.case], hourly if cut is None else hourly[hourly.index < cut], story)

    return scan


# no shrinking: an example takes seconds, and a story is short as it is
@settings(
    max_examples=20,
    deadline=None,
    derandomize=True,
    phases=(Phase.explicit, Phase.generate),
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(story=stories, share=st.floats(0.2, 0.99), on_an_alarm=st.booleans())
def test_a_watch_that_ended_there_raised_the_same(watch, story, share, on_an_alarm):
    everything = watch(story)
    if everything is None:
        return
    days, found = everything
    cut = made_vessels.day(int(made_vessels.DAYS * share))
    if on_an_alarm and found.search.alarms:
        cut = days.index[found.search.alarms[-1].day] + pd.Timedelta(days=1)
    replayed = watch(story, cut)
    early = raised(days, found, cut)
    if replayed is None or not replayed[0].index[-1] >= days.index[days.baseline][-1]:
        assert early.empty  # the watch had not begun
        return
    pd.testing.assert_frame_equal(raised(*replayed, cut), early, rtol=1e-6, atol=1e-6)
    assert replayed[1].signed.candidates == found.signed.candidates
    count = len(replayed[0].index)
    np.testing.assert_allclose(replayed[1].search.heights, found.search.heights[:count], rtol=1e-6, atol=1e-9)


@pytest.mark.parametrize("day", [60, 119, 120, 121, 200])
def test_a_baseline_that_nobody_gave_does_not_move_once_it_is_over(made, day):
    """120 days with steady running; until then nothing is watched, and the report says so."""
    story = Story("fouled-sprays", (), (), None, None)
    hourly = read(made[story.case], story)
    vessel = replace(made_vessels.described(made[story.case]), baseline=None)
    found = detect.scan_vessel(
        vessel, made_vessels.as_read(made[story.case], hourly[hourly.index < made_vessels.day(day)])
    )
    steady = found.daily.index[found.daily["hours"] >= DEFAULTS.min_hours_per_day]
    over = len(steady) > DEFAULTS.baseline_days
    assert found.baseline[1] == steady[min(len(steady), DEFAULTS.baseline_days) - 1] + pd.Timedelta(days=1)
    assert over != any("nothing is watched yet" in note for note in found.notes)
    assert over or found.incidents == ()
