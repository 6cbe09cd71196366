"""Was the baseline healthy? What moved through it, and what stood over its limit from the start.

Everything is judged against the baseline, so a fault that was already under way hides in it. A season may
look like one: a move is told only where it stands out from what load, weather and season may do.
"""

import numpy as np
from numpy.typing import NDArray

from sevenppb.detect.drift import trend
from sevenppb.detect.expected import Days
from sevenppb.detect.features import SWING, WATCHED

Array = NDArray[np.float64]

IMPROBABLE = 0.01  # probability of so strong a trend in any feature of a baseline without one
CLEAR = 2.5  # standard errors that a rise must have beside the seasonal terms; 1 in 80 by chance
LEAST = 30  # days with a reading below which nothing is said
MOST = 0.5  # share of the baseline's days over a limit


def doubts(days: Days, limits: dict[str, float]) -> tuple[str, ...]:
    """Sentences; none where the baseline gives no cause for doubt. `limits`: feature → value [its unit]."""
    sentences = [_moved(name, rise) for name, rise in moved(days).items()]
    for name in (name for name in limits if name in WATCHED and name in days.seen):
        row, limit = WATCHED[name], limits[name]
        seen = days.seen.loc[days.baseline, name].dropna()
        if len(seen) and (seen > limit).mean() > MOST:
            sentences.append(
                f"{row.label} was over its limit of {limit:g} {row.unit} on most days of the baseline "
                f"(usually {seen.median():.3g} {row.unit}): what counts as healthy may not be"
            )
    return tuple(sentences)


def moved(days: Days) -> dict[str, float]:
    """By feature that moved through the baseline, its rise [test scale]."""
    rises = {}
    for f, name in enumerate(days.features):
        if not name.endswith(SWING) and days.present[days.baseline, f].sum() >= LEAST:
            rise, error, apart = _rise(days, f)
            found = trend.fit(apart)
            certain = found.p < IMPROBABLE / len(days.features) and abs(rise) > CLEAR * error
            if certain and abs(rise) > WATCHED[name].tolerance:
                rises[name] = rise
    return rises


def _rise(days: Days, f: int) -> tuple[float, float, Array]:
    """Rise of a residual from the first day of the baseline to its last and its standard error [test scale],
    from a straight line fitted beside the seasonal terms with their priors; and the baseline's residuals
    without the terms, the line left in [days]."""
    rows = days.baseline & days.present[:, f]
    noise = days.noise[f]
    day = np.flatnonzero(rows)
    line = (day - day.mean()) / (day[-1] - day[0])
    # correlated days are worth fewer independent ones
    worth = np.sqrt((1 - noise.phi) / (1 + noise.phi)) / noise.sd
    spread = np.append(np.minimum(days.prior[f], 1e3 * noise.sd), 1e3 * noise.sd)
    columns = np.column_stack([days.terms[rows], line]) * spread
    covariance = np.linalg.inv(worth**2 * columns.T @ columns + np.eye(len(spread)))
    scores = covariance @ (worth**2 * columns.T @ days.residual[rows, f])
    apart = np.full(len(days.index), np.nan)
    apart[rows] = days.residual[rows, f] - columns[:, :-1] @ scores[:-1]
    error = spread[-1] * np.sqrt(covariance[-1, -1])
    return float(spread[-1] * scores[-1]), float(error), apart[days.baseline]


def _moved(name: str, rise: float) -> str:
    row = WATCHED[name]
    way = "rose" if rise > 0 else "fell"
    if row.scale == "log":
        amount = f"{100 * abs(np.expm1(rise)):.0f} %"
    elif row.unit == "1":
        amount = f"{100 * abs(rise):.2g} %"
    else:
        amount = f"{abs(rise):.2g} {'K' if row.unit == 'degC' else row.unit}"
    return f"{row.label} {way} through the baseline by {amount}: a fault may already have been under way"
