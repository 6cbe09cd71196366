"""Days and charts → the table of daily values that reports and daily.parquet show."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from sevenppb.detect.diagnosis.search import Search
from sevenppb.detect.diagnosis.signatures import Signatures
from sevenppb.detect.expected import Days
from sevenppb.detect.features import WATCHED, to_natural
from sevenppb.detect.incidents.episode import Episode
from sevenppb.detect.physics import sprays
from sevenppb.detect.roles import possible

Array = NDArray[np.float64]


def daily_table(days: Days, found: Search, signed: Signatures, told: tuple[Episode, ...]) -> pd.DataFrame:
    """A row a day, as VesselScan.daily promises.

    The expected value is balance plus seasonal terms, their coefficients from the days before the first onset
    (all days where nothing was found); its band is one standard error of a day's reading about it.
    """
    first = min((e.change.onset for e in told), default=len(days.index))
    healthy = days.baseline | (np.arange(len(days.index)) < first)
    columns: dict[str, Array] = {"hours": days.hours}
    for f, name in enumerate(days.features):
        feature = WATCHED[name]
        seasonal, error = _seasonal(days, f, healthy)
        expected = days.balance[:, f] + seasonal
        observed = days.residual[:, f] + days.balance[:, f]
        columns[f"observed_{name}"] = to_natural(feature, observed)
        columns[f"expected_{name}"] = possible(feature.role, to_natural(feature, expected))
        high, low = to_natural(feature, expected + error), to_natural(feature, expected - error)
        columns[f"band_{name}"] = 0.5 * (high - low)
        columns[f"residual_{name}"] = columns[f"observed_{name}"] - columns[f"expected_{name}"]
    if "spray_differential" in days.seen:
        measured = days.seen["spray_differential"].to_numpy()
        curve = days.fitted.health.spray_curve
        columns["spray_openness"] = sprays.openness(days.at.flow, measured, curve)
    for name in days.seen.columns:
        if name not in WATCHED:
            columns[name] = days.seen[name].to_numpy()
    columns["flow"] = np.where(days.hours > 0, days.at.flow, np.nan)
    for j, candidate in enumerate(signed.candidates):
        columns[f"chart_{candidate.name}"] = found.heights[:, j]
    return pd.DataFrame(columns, index=days.index)


def _seasonal(days: Days, f: int, healthy: NDArray[np.bool_]) -> tuple[Array, Array]:
    """Seasonal value and the standard error of a day about it [n], ridge with the stated priors."""
    rows = healthy & days.present[:, f]
    noise = days.noise[f]
    sd = np.minimum(days.prior[f], 1e3 * noise.sd)
    # Correlated days are worth fewer independent ones.
    worth = np.sqrt((1 - noise.phi) / (1 + noise.phi)) / noise.sd
    scaled = days.terms * sd
    x, y = scaled[rows] * worth, days.residual[rows, f] * worth
    covariance = np.linalg.inv(x.T @ x + np.eye(x.shape[1]))
    value = scaled @ (covariance @ (x.T @ y))
    error = np.sqrt(np.einsum("nt,tu,nu->n", scaled, covariance, scaled) + noise.sd**2)
    return value, error
