"""One vessel's scan in steps, each of use by itself: readings → marked hours → days → episodes."""

from dataclasses import dataclass

import pandas as pd

from sevenppb.detect import expected, features
from sevenppb.detect.balance import conditions
from sevenppb.detect.diagnosis import likelihood, search, signatures, work_done
from sevenppb.detect.diagnosis.search import Mended, Search
from sevenppb.detect.diagnosis.signatures import Instruments, Signatures
from sevenppb.detect.expected import Days
from sevenppb.detect.fleet import Vessel
from sevenppb.detect.incidents import episodes
from sevenppb.detect.incidents.episode import Episode
from sevenppb.detect.quality.readings import Readings
from sevenppb.detect.quality.steady import load_role, steady_marks
from sevenppb.detect.seasonal import pool
from sevenppb.detect.seasonal.lent import Lent
from sevenppb.detect.settings import DEFAULTS, Settings


@dataclass(frozen=True)
class Found:
    """What is in a vessel's days: the signature of each candidate at these days' conditions, in what is read and in
    `every` feature that could be; the alarms with the charts' heights, and the alarms put together to episodes;
    `instruments`, what the vessel records; `work`, where levels are new for what was done."""

    signed: Signatures
    every: Signatures
    search: Search
    episodes: tuple[Episode, ...]
    instruments: Instruments
    work: tuple[Mended, ...]


def hour_marks(vessel: Vessel, readings: Readings, settings: Settings = DEFAULTS) -> pd.DataFrame:
    """Why an hour does not count: a row an hour of the readings, a bool column a reason. An hour without a mark is
    steady."""
    barometer = features.barometer_of(readings.hourly, vessel)
    return steady_marks(readings.hourly, barometer, settings)


def residual_days(
    vessel: Vessel,
    readings: Readings,
    marks: pd.DataFrame,
    baseline: tuple[pd.Timestamp, pd.Timestamp],
    settings: Settings = DEFAULTS,
    lent: tuple[Lent, ...] = (),
) -> tuple[Days, tuple[str, ...]]:
    """What each day's steady hours leave over beside the balance as fitted to the baseline, and a sentence for each
    condition that had to be assumed.

    marks      as hour_marks gives them
    baseline   first healthy day and the day after the last (UTC midnights)
    lent       what other vessels' baselines say of the seasons, for a baseline that has not seen the year
    """
    hourly = readings.hourly
    barometer = features.barometer_of(hourly, vessel)
    seen = features.observed(hourly, barometer, vessel).drop(columns=load_role(hourly) or "", errors="ignore")
    at, assumed = conditions.conditions_of(hourly, barometer)
    season = pool.pooled(pool.known(lent, baseline))
    return expected.daily(seen, at, ~marks.any(axis=1), baseline, settings, season), assumed


def find_episodes(vessel: Vessel, readings: Readings, days: Days, settings: Settings = DEFAULTS) -> Found:
    """Watch the days after the baseline one by one, and say of each lasting change what explains it."""
    hourly = readings.hourly
    healthy = pd.DatetimeIndex(hourly.index).floor("D").isin(days.index[days.baseline])
    roles = frozenset(
        hourly.columns[hourly[healthy].notna().any()]
    )  # nothing is expected of a tag read only later
    instruments = Instruments(roles, load_role(hourly), days.swing)
    every = signatures.signatures(days.at, days.fitted.health, signatures.EVERY, instruments)
    here = [signatures.EVERY.index(f) for f in days.features]
    signed = Signatures(every.candidates, every.moves[:, here])
    work = work_done.breaks(vessel.work, days, signed)
    patterns = likelihood.patterns_of(days, instruments)
    found = search.search(days, signed, work, settings, episodes.judge(days, patterns, settings))
    return Found(
        signed, every, found, episodes.episodes(days, found, patterns, work, settings), instruments, work
    )
