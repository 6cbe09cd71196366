"""What was told stays told until it is clearly nothing, and is known anew before the next alarm is held against it."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from sevenppb.detect.incidents import episode, episodes
from sevenppb.detect.settings import DEFAULTS

COUNT = 400
DAYS = SimpleNamespace(index=pd.date_range("2024-01-01", periods=COUNT, tz="UTC"))


def explanation(cause="heat-loss", pattern=(1.0, 0.0)):
    candidate = SimpleNamespace(sign=1)
    return SimpleNamespace(cause=cause, role=None, candidate=candidate, pattern=np.array(pattern))


def told(nothing, cause="heat-loss", pattern=(1.0, 0.0)):
    return SimpleNamespace(nothing=nothing, again=(), explanations=(explanation(cause, pattern),))


def change(onset, effect=(0.2, 0.0)):
    return SimpleNamespace(onset=onset, effect=np.array(effect), error=np.array([0.05, 0.05]))


def alarm(day, effect=(0.2, 0.0)):
    return SimpleNamespace(day=day, since=100, change=change(day - 5, effect))


def found(*alarms):
    return SimpleNamespace(alarms=alarms, correlation=np.eye(2))


@pytest.mark.parametrize(("nothing", "kept"), [(0.4, True), (0.6, True), (0.9, False)])
def test_an_incident_is_dropped_only_where_it_is_clearly_nothing(monkeypatch, nothing, kept):
    """0.6: an alarm as doubtful as that would not be told, but one that was told stays."""
    seen = SimpleNamespace(diagnosis=told(nothing), ended=None)
    monkeypatch.setattr(episode.likelihood, "diagnose", lambda *_: told(0.4))
    monkeypatch.setattr(episodes, "told", lambda *_: seen)
    out = episodes.episodes(DAYS, found(alarm(200)), None, (), DEFAULTS)
    assert out == ((seen,) if kept else ())


def test_an_alarm_is_held_against_what_all_days_before_it_show(monkeypatch):
    """The first alarm saw 0.2 of what had become 1.0 by the time of the next one."""
    known = []

    def diagnose(days, seen, patterns, correlation, settings, earlier, at_work, standing):
        known.append((earlier, at_work))
        return told(0.1)

    def fitted(*_):
        return SimpleNamespace(
            change=change(195, (1.0, 0.5)), diagnosis=told(0.0, "fouled-sprays", (1.0, 0.4)), ended=None
        )

    monkeypatch.setattr(episode.likelihood, "diagnose", diagnose)
    monkeypatch.setattr(episodes, "told", fitted)
    monkeypatch.setattr(episodes, "seen_before", lambda *_: (fitted(), ()))
    episodes.episodes(DAYS, found(alarm(200), alarm(260, (-1.0, 0.0))), None, (), DEFAULTS)
    first, second, *_ = known
    assert first == ((), frozenset())
    np.testing.assert_array_equal(second[0], [[1.0, 0.5]])
    assert second[1] == {("fouled-sprays", None, 1)}


def test_what_turns_out_to_be_another_episodes_going_back_is_its_end(monkeypatch):
    """On the day of its alarm it looked like something new."""
    back = SimpleNamespace(growing=0.0, going_back=0.9)
    new = SimpleNamespace(growing=0.0, going_back=0.3)
    asked = []

    def diagnose(days, seen, patterns, correlation, settings, earlier, at_work, standing):
        asked.append(earlier)
        if not earlier:
            return told(0.1)
        again = new if len(asked) == 2 else back
        return SimpleNamespace(nothing=0.1, again=(again,), explanations=(explanation("unexplained"),))

    def seen_before(watched, group, groups, end):
        onset, size = (255, -1.0) if group.alarms[0].day == 260 else (195, 1.0)
        return SimpleNamespace(change=change(onset, (size, 0.0)), diagnosis=told(0.0)), ()

    monkeypatch.setattr(episode.likelihood, "diagnose", diagnose)
    monkeypatch.setattr(episodes, "seen_before", seen_before)
    monkeypatch.setattr(
        episodes, "told", lambda _, group, __: SimpleNamespace(group=group, diagnosis=told(0.0), ended=None)
    )
    alarms = (alarm(200, (1.0, 0.0)), alarm(260, (-1.0, 0.0)))
    (only,) = episodes.episodes(DAYS, found(*alarms), None, (), DEFAULTS)
    assert [a.day for a in only.group.alarms] == [200, 260]
    assert only.group.ended == 255


def test_what_goes_back_further_after_an_end_leaves_others_a_new_level():
    ended = episode.Open(
        (alarm(200),), frozenset(), np.array([1.0, 0.0]), ("heat-loss", None, 1), 195, 220, 220
    )
    joined = episodes._joined(ended, (alarm(240, (-1.0, 0.0)),), change(235, (-1.0, 0.0)), back=True)
    assert joined.alarms == ended.alarms
    later = episode.Open((alarm(300),), frozenset(), np.array([0.2, 0.0]), ("open-vent", None, 1), 295)
    days = SimpleNamespace(features=("outlet_oxygen", "subcooling"))
    assert [b.day for b in episode.levels(days, later, [joined, later])] == [201, 220, 241]
    assert [b.day for b in episode.levels(days, joined, [joined, later])] == [295, 301]


def test_within_a_week_of_the_last_alarm_nothing_more_is_known(monkeypatch):
    monkeypatch.setattr(episodes, "seen_before", lambda *_: pytest.fail("asked"))
    one = alarm(200)
    opened = episode.Open((one,), frozenset(), one.change.effect, ("heat-loss", None, 1), 195)
    assert episodes._known_by(None, opened, [opened], 206) is opened
