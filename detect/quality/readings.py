"""The record that reading and quality checks hand on: one vessel's hourly readings, counted."""

from dataclasses import dataclass

import pandas as pd


@dataclass(frozen=True)
class Readings:
    """One vessel's hourly readings in the units of the table of roles.

    hourly   index UTC hour starts (datetime64, tz UTC, complete and ascending), a column a role: the median of
             the good values in the hour; NaN where there is none
    spread   same shape: robust standard deviation inside the hour (interquartile range / 1.349) [role's unit];
             NaN where an hour holds fewer than 4 values
    count    same shape: good values behind each median (a value held by compression counts)
    tally    a row a role, a column a reason ("used", "text for bad", "bad quality", "not a number", "out of range",
             "frozen", "spike", "unit jump", "duplicate", ...): raw values, so a row sums to what was read
    total    raw values read, over all roles
    notes    sentences for the report, each a fact about these readings
    """

    vessel: str
    hourly: pd.DataFrame
    spread: pd.DataFrame
    count: pd.DataFrame
    tally: pd.DataFrame
    total: int
    notes: tuple[str, ...]
    stuck: tuple["Stuck", ...] = ()


@dataclass(frozen=True)
class Stuck:
    """A role whose reading did not move although the vessel did, from `start` to `end` (UTC)."""

    role: str
    start: pd.Timestamp
    end: pd.Timestamp
    value: float
