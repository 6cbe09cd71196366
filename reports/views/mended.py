"""Whether work on a vessel mended an incident, by the reading that shows it best."""

import pandas as pd

from sevenppb.detect.fleet import Work
from sevenppb.detect.incidents.incident import Incident
from sevenppb.reports import words
from sevenppb.reports.numbers import Units

BY_WORK = pd.Timedelta(days=14)  # after work, within which an incident that it mended ends
DATED = pd.Timedelta(days=7)  # before work: no better is an end dated
DAYS = 28  # days read on either side of the work, whose medians are compared
FEWEST = 7  # of them after it, to say anything
LEFT = 0.5  # of the difference from the expected before it, below which the reading went back


def outcome(work: Work, incident: Incident, daily: pd.DataFrame, units: Units) -> str:
    """What follows "sprays cleaned"; nothing where that was before the onset or after the end, or no reading tells."""
    done = work.date.round("D")  # the plant's midnight → its UTC day
    if done < incident.onset or (incident.ended is not None and incident.ended < done - DATED):
        return ""
    if incident.ended is not None and incident.ended <= done + BY_WORK:
        return "; the readings went back after it"
    shown = words.shown_best(incident, units)
    if shown is None or f"residual_{shown.feature}" not in daily:
        return ""
    off = daily[f"residual_{shown.feature}"].dropna()
    before = off[(off.index >= incident.onset) & (off.index < done)].iloc[-DAYS:]
    after = off[off.index > done].iloc[:DAYS]
    if before.empty or len(after) < FEWEST:
        return "; too early to say whether the readings went back"
    if abs(after.median()) >= LEFT * abs(before.median()):
        return "; the readings have not gone back"
    still = ", though the incident still counts as open" if incident.ended is None else ""
    return f"; the readings went back after it{still}"
