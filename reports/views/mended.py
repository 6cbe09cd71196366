"""Whether work on a vessel mended an incident: its end tells, which the scan asked of all readings since."""

import pandas as pd

from sevenppb.detect.fleet import Work
from sevenppb.detect.incidents.incident import Incident

BY_WORK = pd.Timedelta(days=14)  # after work, within which an incident that it mended ends
DATED = pd.Timedelta(days=7)  # before work: no better is an end dated
FEWEST = 14  # days read after the work, from which an end would have been seen


def outcome(work: Work, incident: Incident, daily: pd.DataFrame) -> str:
    """What follows "sprays cleaned"; nothing where that was before the onset or after the end."""
    done = work.day
    if done < incident.onset or (incident.ended is not None and incident.ended < done - DATED):
        return ""
    if incident.ended is not None and incident.ended <= done + BY_WORK:
        return "; the readings went back after it"
    read = daily.filter(like="residual_").dropna(how="all")
    if (read.index > done).sum() < FEWEST:
        return "; too early to say whether the readings went back"
    return "; the readings have not gone back"
