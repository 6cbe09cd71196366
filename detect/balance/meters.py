"""Do the meters agree? Every day's flows and temperatures reconciled over mass and heat.

Two balances over more meters than they need: where no adjustment within the instruments' accuracies satisfies
both, some reading is wrong; and where one instrument's error explains the misfit far better than any other's,
it is named. A heat loss or a vent unlike the usual also unbalances heat, so it stands among what may be wrong
(without a name): it parts a lying meter from a sick process.
"""

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import chdtrc

from sevenppb.detect import streams
from sevenppb.detect.balance import reconcile
from sevenppb.detect.physics.heat import Heater, Name
from sevenppb.detect.roles import ROLES

Array = NDArray[np.float64]

IMPROBABLE = 0.01  # probability of a larger misfit below which the meters are said to disagree
CLEARLY = 3.84  # by how much one reading's share of the misfit must beat any other's: 95 % of chi-square of 1
MONTH, MOST = 30, 0.5  # days that a note looks at, and the share of them that must agree

THERMOMETERS: dict[Name, str] = {
    "inlet": "inlet_temperature",
    "drain": "drain_temperature",
    "makeup": "makeup_temperature",
    "steam": "steam_temperature",
    "outlet": "storage_temperature",
    "vent": "shell_pressure",  # by which the vent's enthalpy is read
}


def reconciled_daily(steady: pd.DataFrame, barometer: pd.Series, bore: float | None) -> pd.DataFrame:
    """Per day with whole readings: `misfit` (chi-square of `redundancy` degrees of freedom while no meter
    lies), `p` (probability of a larger one) and `suspect` (role, or None where there is none or it can't be
    told).

    steady      readings of the steady hours, a row an hour, a column a role, inside units: each day's means
                are reconciled
    barometer   of the same hours [Pa]; bore: of the vent [m], None where not known
    """
    day = pd.DatetimeIndex(steady.index).floor("D")
    means, air = steady.groupby(day).mean(), barometer.groupby(day).mean()
    known = streams.vent_known(means, air.to_numpy(dtype=float), bore)
    heater = streams.heater_of(means, streams.vent_assumed(means, known))
    roles, imbalance, slopes = _balances(heater, frozenset(means.columns))
    whole = np.flatnonzero(~np.isnan(imbalance).any(axis=1) & ~np.isnan(slopes).any(axis=(1, 2)))
    # each reading in its own standard uncertainties, counted from what was read
    readings = len(roles)
    found = reconcile.reconcile(
        np.zeros((len(whole), readings)), np.eye(readings), slopes[whole], -imbalance[whole]
    )
    suspects = [
        _suspect(suspicion**2, misfit, redundancy, roles) if p < IMPROBABLE else None
        for suspicion, misfit, redundancy, p in zip(
            found.suspicion, found.misfit.tolist(), found.redundancy.tolist(), found.p, strict=True
        )
    ]
    told = {"misfit": found.misfit, "redundancy": found.redundancy, "p": found.p, "suspect": suspects}
    return pd.DataFrame(told, index=means.index[whole])


def _balances(heater: Heater, recorded: frozenset[str]) -> tuple[tuple[str | None, ...], Array, Array]:
    """Roles behind the m readings (None: assumed, not read), the imbalances [n, c], and their slopes on each
    reading, per standard uncertainty [n, c, m]. c is 2, mass and heat over the water that follows, or 1, heat
    alone, where one of the water flows isn't recorded. Both in kg/s, heat as of condensing steam."""
    follows = heater.streams()[heater.follows][1]
    over = np.asarray(follows.enthalpy)
    zero = 0.0 * over
    mass, heat, through = zero, zero - heater.loss, zero
    readings: list[tuple[str, Array, Array]] = [("heat_loss", zero, -np.asarray(heater.loss_sd))]
    for name, (sign, stream) in heater.streams().items():
        flow, flow_sd = sign * np.asarray(stream.flow), sign * np.asarray(stream.flow_sd)
        above = np.asarray(stream.enthalpy) - over
        mass = mass + flow
        if name != heater.follows:
            heat, through = heat + flow * above, through + flow
            readings.append((f"{name}_flow", flow_sd, flow_sd * above))
            readings.append((THERMOMETERS[name], zero, flow * np.asarray(stream.enthalpy_sd)))
        elif f"{name}_flow" in recorded:
            readings.append((f"{name}_flow", flow_sd, zero))
    readings.append((THERMOMETERS[heater.follows], zero, -through * np.asarray(follows.enthalpy_sd)))
    latent = np.asarray(heater.steam.enthalpy) - over
    slopes = np.stack(
        [np.stack([on_mass + zero, (on_heat + zero) / latent], axis=1) for _, on_mass, on_heat in readings],
        axis=2,
    )
    used = slice(0 if {"inlet_flow", "outlet_flow"} <= recorded else 1, 2)
    roles = tuple(role if role in recorded else None for role, _, _ in readings)
    return roles, np.stack([mass, heat / latent], axis=1)[:, used], slopes[:, used]


def _suspect(share: Array, misfit: float, redundancy: int, roles: tuple[str | None, ...]) -> str | None:
    """The reading whose own error explains the misfit, by far the best and well enough to leave none."""
    order = np.argsort(np.nan_to_num(share, nan=-1.0))[::-1]
    best, next_ = share[order[0]], share[order[1]]
    if redundancy < 2 or best - next_ < CLEARLY:
        return None
    rest = chdtrc(redundancy - 1, max(misfit - best, 0.0))
    return roles[order[0]] if rest > IMPROBABLE else None


def notes(daily: pd.DataFrame) -> tuple[str, ...]:
    """A sentence where the meters disagree on most of the last month's days (`daily` of reconciled_daily)."""
    month = daily.iloc[-MONTH:]
    off = month[month["p"] < IMPROBABLE]
    if len(off) <= MOST * len(month):
        return ()
    said = f"flows and temperatures contradict the balances on {len(off)} of the last {len(month)} days"
    suspects = off["suspect"].value_counts()
    if len(suspects) and suspects.iloc[0] > MOST * len(off):
        return (
            f"{said}: an error of the {ROLES[suspects.index[0]].label} would explain it; have it checked",
        )
    return (f"{said}: a meter errs, or vent or heat loss are unusual; these readings can't tell which",)
