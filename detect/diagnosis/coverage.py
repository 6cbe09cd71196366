"""What this vessel's tags can show: causes visible or not, smallest visible change, causes that look alike, and the
missing reading that would help."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sevenppb.detect.balance.health import ADDITIVE
from sevenppb.detect.causes import CAUSES
from sevenppb.detect.diagnosis import magnitude
from sevenppb.detect.diagnosis.signatures import Signatures
from sevenppb.detect.diagnosis.unseen_season import season_doubt
from sevenppb.detect.drift.innovations import Whitener
from sevenppb.detect.drift.watch import Charts
from sevenppb.detect.expected import Days
from sevenppb.detect.features import SWING, WATCHED

Array = NDArray[np.float64]

WITHIN = 90  # days within which a change must be seen to count as visible
GROWTH = 60  # days over which a slow fault comes to its size; common practice, no source
NINE_IN_TEN = 1.2816  # standard normal deviate: a change of the size told is believed so often
LARGEST = {"log": 2.0, "heat_loss": 3.0}  # a larger move is no slow fault any more: log step, K
CREDIBLE = 4.0  # gain in log likelihood from which something is more likely than nothing, priors included
ALIKE = 0.9  # cosine between two signatures in noise units from which these tags can't part them
TELLING = 0.5  # a missing reading would help where it moves by this share of its natural move


@dataclass(frozen=True)
class Seen:
    """One cause: smallest visible move in the magnitude's unit (None: not visible), look-alikes, readings to add."""

    cause: str
    smallest: float | None
    confusable_with: tuple[str, ...]
    missing_roles: tuple[str, ...]


def coverage(
    days: Days,
    white: tuple[Whitener, ...],
    signed: Signatures,
    everything: Signatures,
    lengths: Array,
    charts: Charts,
    correlation: Array,
) -> tuple[Seen, ...]:
    """Per cause with a parameter.

    white       what whitens the residuals (search.whiteners)
    signed      signatures over the watched features; everything: over all features, recorded or not
    lengths     [n, J] mean score of each candidate's step (drift.watch)
    """
    watched = lengths[np.nanmax(np.nan_to_num(lengths), axis=1) > 0]
    length = np.median(watched, axis=0) if len(watched) else np.zeros(len(signed.candidates))
    # What a slow fault must come to, for its mean score over these days to carry the chart over its threshold. It
    # forgets the days before it begins to rise, so that this is enough nine times in ten.
    needed = (np.broadcast_to(charts.h, length.shape) / WITHIN + charts.k) / (1.0 - GROWTH / 2 / WITHIN)
    doubt = np.hypot(_errors(days, white), days.tolerance)
    plain = np.sqrt(np.sum((np.nanmean(signed.moves, axis=0) / doubt[:, None]) ** 2, axis=0))  # [J]
    scale = np.array([n.sd for n in days.noise])
    usual = np.nanmean(signed.moves, axis=0) / scale[:, None]  # [F, J]
    usual = np.linalg.cholesky(np.linalg.inv(correlation)).T @ usual
    cosines = _cosines(usual)
    out = []
    for j, candidate in enumerate(signed.candidates):
        if candidate.role is not None:
            continue
        step = np.inf
        if length[j] > 1e-6:
            # Large enough for the chart to cross in time, and to be more likely something than nothing.
            step = candidate.step * max(
                needed[j] / length[j], (np.sqrt(2 * CREDIBLE) + NINE_IN_TEN) / plain[j]
            )
        additive = CAUSES[candidate.cause].parameter in ADDITIVE
        visible = step <= LARGEST["heat_loss" if additive else "log"]
        smallest = None
        if visible:
            smallest = magnitude.in_unit(candidate, step / candidate.step, days.fitted.health)
        others = signed.candidates
        alike = [i for i in range(len(others)) if i != j and cosines[i, j] > ALIKE]
        words = tuple(
            others[i].cause if others[i].role is None else f"sensor-drift ({others[i].role})" for i in alike
        )
        out.append(Seen(candidate.cause, smallest, words, _missing(days, everything, j, alike)))
    return tuple(out)


def _errors(days: Days, white: tuple[Whitener, ...]) -> Array:
    """Standard error [F] of what a slow fault that begins with the watch has moved each residual after WITHIN days,
    beside a season that is known from the days before; where the record ends sooner, of one as long before its end."""
    last = len(days.index)
    onset = max(min(days.watched_from, last - WITHIN), 0)
    rows = np.arange(last)
    course = np.clip((rows - onset + 1.0) / GROWTH, 0.0, 1.0)
    seen = [w(course, int(np.searchsorted(w.days, onset + WITHIN))) for w in white]
    own = np.array([max(float(h @ h), 1e-12) for h in seen]) ** -0.5
    return np.hypot(own, season_doubt(days, white, course, days.residual, onset + WITHIN))


def _missing(days: Days, everything: Signatures, own: int, alike: list[int]) -> tuple[str, ...]:
    """Roles not recorded whose reading would tell a cause best: from its look-alikes, as many as may be (a difference
    of more than a natural move helps no further), or, where it has none, from nothing. `own` and `alike` are places
    among the candidates."""
    features = tuple(f for f in WATCHED if not f.endswith(SWING))
    natural = np.array([WATCHED[f].natural for f in features])
    usual = np.nanmean(everything.moves[:, : len(features)], axis=0) / natural[:, None]  # [F, J]
    apart = abs(usual[:, [own]] - usual[:, alike]) if alike else abs(usual[:, [own]])
    worth = np.minimum(apart, 1.0).mean(axis=1)
    missing = [
        (worth[i], apart[i].mean(), WATCHED[f].role)
        for i, f in enumerate(features)
        if f not in days.features and apart[i].max() > TELLING
    ]
    return tuple(role for _, _, role in sorted(missing, reverse=True)[:2])


def _cosines(columns: Array) -> Array:
    """Of every column with every other [J, J]; 0 where there is nothing of either."""
    sizes = np.linalg.norm(columns, axis=0)
    both = np.outer(sizes, sizes)
    there = both > 1e-9
    return np.asarray(np.where(there, columns.T @ columns, 0.0) / np.where(there, both, 1.0))
