"""Chart records: finished values in display units, a row a day."""

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from sevenppb.detect.features import WATCHED
from sevenppb.detect.fleet import Work
from sevenppb.detect.incidents.incident import Evidence, Incident, VesselScan
from sevenppb.detect.roles import ROLES
from sevenppb.reports import numbers, words
from sevenppb.reports.numbers import Units

BAND_WIDTH = 2.0  # standard uncertainties to each side
CHARTS_PER_INCIDENT = 3
SHORTEST_OUTAGE = 3  # days; shorter ones would be slivers
SMALLEST_CHARTED_Z = 2.0  # the second and third chart are only worth their space where something moved


@dataclass(frozen=True)
class Mark:
    """A stretch of days worth shading or, where both ends agree, a line."""

    label: str
    start: str
    end: str


@dataclass(frozen=True)
class EvidenceChart:
    """One residual over time [unit]. The lists run in step, a day each (ISO); None where none was steady."""

    feature: str
    title: str
    unit: str
    alt: str
    days: tuple[str, ...]
    observed: tuple[float | None, ...]
    expected: tuple[float | None, ...]
    low: tuple[float | None, ...]
    high: tuple[float | None, ...]
    onset: Mark | None
    flagged: Mark | None
    work: tuple[Mark, ...]
    outages: tuple[Mark, ...]
    limit: float | None


@dataclass(frozen=True)
class SignatureRow:
    """One residual's move [standard errors]: found, and as the cause predicts (None: it makes none)."""

    label: str
    found: float
    predicted: float | None


@dataclass(frozen=True)
class SignatureChart:
    """Every residual's direction: found against expected of the named cause, the strongest first."""

    title: str
    alt: str
    rows: tuple[SignatureRow, ...]


def evidence_charts(
    vessel: VesselScan, incident: Incident, limits: dict[str, float], work: tuple[Work, ...], units: Units
) -> tuple[EvidenceChart, ...]:
    """Charts of the features that moved most; without evidence, of the sensor's own reading where it is
    watched. A feature without daily columns has none to draw."""
    ranked = sorted(
        (row for row in incident.evidence if math.isfinite(row.z)), key=lambda row: abs(row.z), reverse=True
    )
    told = {row.feature: words.compared(row, incident, units) for row in ranked}
    worth = [row.feature for n, row in enumerate(ranked) if n == 0 or abs(row.z) >= SMALLEST_CHARTED_Z]
    daily = vessel.daily
    if not ranked and incident.role is not None:
        shows = _shown_as(incident.role)
        worth, told = [shows], {shows: words.magnitude(incident, units)}
        daily = _with_held(daily, shows, incident)
    drawable = [name for name in worth if f"observed_{name}" in daily]
    onset = Mark("onset", *(_iso(moment) for moment in incident.onset_interval))
    flagged = Mark("flagged", *([_iso(incident.first_flagged)] * 2))
    when = f"onset {words.days(*incident.onset_interval)}, first flagged {words.day(incident.first_flagged)}"
    return tuple(
        feature_chart(
            daily,
            name,
            vessel.units[name],
            limits.get(name),
            units,
            alt=f"Chart of {words.feature(name)} at {incident.vessel} by day: {told[name]}; {when}.",
            onset=onset,
            flagged=flagged,
            work=tuple(Mark("work", *([_iso(done.date)] * 2)) for done in work),
        )
        for name in drawable[:CHARTS_PER_INCIDENT]
    )


def within(daily: pd.DataFrame, incident: Incident) -> NDArray[np.bool_]:
    """Which days are the incident's: from its onset on, and before its end."""
    days = daily.index >= incident.onset
    if incident.ended is not None:
        days &= daily.index < incident.ended
    return np.asarray(days)


def _shown_as(role: str) -> str:
    """The watched feature that is the role's own reading; the role where there is none."""
    return next(
        (row.name for row in WATCHED.values() if row.role == role and row.unit == ROLES[role].unit), role
    )


def _with_held(daily: pd.DataFrame, feature: str, incident: Incident) -> pd.DataFrame:
    """A stuck sensor's days with the value that it showed: the scan cut it, and a reader wants to see it."""
    column = f"observed_{feature}"
    if incident.cause != "sensor-stuck" or column not in daily:
        return daily
    empty = daily[column].isna() & within(daily, incident)
    return daily.assign(**{column: daily[column].mask(empty, incident.magnitude.value)})


def feature_chart(
    daily: pd.DataFrame,
    feature: str,
    unit: str,
    limit: float | None,
    units: Units,
    *,
    alt: str,
    onset: Mark | None = None,
    flagged: Mark | None = None,
    work: tuple[Mark, ...] = (),
) -> EvidenceChart:
    """One feature's daily columns in display units; `unit` and `limit` are in the unit used inside."""
    shown = numbers.scale(feature, unit, units)
    observed = daily[f"observed_{feature}"] * shown.factor + shown.offset
    expected = daily[f"expected_{feature}"] * shown.factor + shown.offset
    margin = BAND_WIDTH * daily[f"band_{feature}"] * abs(shown.factor)
    sight = _sight(observed, expected, margin)
    # one decimal more than the reading's own keeps the line smooth without inventing precision
    decimals = numbers.places(feature, shown, float(observed.abs().median())) + 1
    title = words.feature(feature)
    return EvidenceChart(
        feature=feature,
        title=title[0].upper() + title[1:],
        unit=shown.label,
        alt=alt,
        days=tuple(_iso(moment) for moment in pd.DatetimeIndex(daily.index)),
        observed=_rounded(observed, decimals),
        expected=_rounded(expected.clip(*sight), decimals),
        low=_rounded((expected - margin).clip(*sight), decimals),
        high=_rounded((expected + margin).clip(*sight), decimals),
        onset=onset,
        flagged=flagged,
        work=work,
        outages=outages(daily),
        limit=_limit_in_sight(limit, observed, shown, decimals),
    )


def outages(daily: pd.DataFrame) -> tuple[Mark, ...]:
    """Stretches of at least SHORTEST_OUTAGE days without a steady hour, first and last day."""
    idle = (daily["hours"] <= 0).to_numpy()
    days = pd.DatetimeIndex(daily.index)
    edges = np.flatnonzero(np.diff(np.concatenate(([False], idle, [False]))))
    return tuple(
        Mark("outage", _iso(days[start]), _iso(days[end - 1]))
        for start, end in zip(edges[::2], edges[1::2], strict=True)
        if end - start >= SHORTEST_OUTAGE
    )


def _iso(moment: pd.Timestamp) -> str:
    return moment.strftime("%Y-%m-%d")


def _sight(
    observed: "pd.Series[float]", expected: "pd.Series[float]", margin: "pd.Series[float]"
) -> tuple[float, float]:
    """What a chart shows [shown unit]: all that was read and the middle half of what was expected, and half as much
    again to either side. Further out, what is expected is drawn at the edge: single days of it would squeeze the rest
    into a line."""
    low = min(float(observed.min()), float(expected.quantile(0.25)))
    high = max(float(observed.max()), float(expected.quantile(0.75)))
    reach = float(np.nanmax([(high - low) / 2.0, 2.0 * margin.median()]))
    return low - reach, high + reach


def _limit_in_sight(
    limit: float | None, observed: "pd.Series[float]", shown: numbers.Scale, decimals: int
) -> float | None:
    """The limit, unless drawing it would squeeze the readings into less than half of the chart."""
    if limit is None or observed.isna().all():
        return None
    place = limit * shown.factor + shown.offset
    low, high = float(observed.min()), float(observed.max())
    return round(place, decimals) if low - (high - low) <= place <= high + (high - low) else None


def signature_chart(incident: Incident) -> SignatureChart | None:
    """Found and predicted move of every residual. None where the evidence holds no finite z."""
    rows = []
    for row in sorted(incident.evidence, key=lambda row: abs(row.z), reverse=True):
        if not math.isfinite(row.z):
            continue
        rows.append(SignatureRow(words.feature(row.feature), round(row.z, 2), _predicted_z(row)))
    if not rows:
        return None
    label = words.cause(incident.cause, incident.role)
    agree = sum(1 for row in rows if row.predicted is not None and row.predicted * row.found > 0)
    told = sum(1 for row in rows if row.predicted is not None)
    return SignatureChart(
        title="Direction of every residual",
        alt=f"Found and expected move of {words.count(len(rows), 'residual')} for {label}: "
        f"{agree} of the {told} with a prediction move the way it says.",
        rows=tuple(rows),
    )


def _predicted_z(row: Evidence) -> float | None:
    """The predicted move over the same standard error that made z = (observed − expected) / error."""
    move = row.observed - row.expected
    if not math.isfinite(row.predicted) or not math.isfinite(move) or move == 0.0 or row.z == 0.0:
        return None
    return round(row.predicted / abs(move / row.z), 2)


def _rounded(column: "pd.Series[float]", decimals: int) -> tuple[float | None, ...]:
    return tuple(round(float(value), decimals) if math.isfinite(value) else None for value in column)
