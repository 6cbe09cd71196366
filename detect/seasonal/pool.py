"""A fleet's yearly terms as one prior, for a vessel whose baseline has not seen a year.

A vessel that has seen one says what the balance leaves over of its seasons: its own estimates, from its own baseline,
with their errors. Vessels differ, so these are draws from a population, and what the next vessel may do is the
population's mean and spread, as far as the few drawn ones tell (random effects; the next one's distribution as in
Higgins, Thompson and Spiegelhalter 2009, J. R. Stat. Soc. A 172, 137; from memory). Without lenders the stated prior
remains.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import logsumexp
from scipy.stats import norm

from sevenppb.detect.baseline import LONG
from sevenppb.detect.seasonal import terms
from sevenppb.detect.seasonal.lent import Effect, Lent

Array = NDArray[np.float64]

LEAST = 3  # lenders of a residual's season: two that agree may do so by chance
SICK = (
    0.05  # probability that what a lender takes for a season is something else, a fault in its baseline say
)
WILD = 4.0  # stated standard deviations that something else comes to: a natural move
_COMMON = (
    np.arange(20) + 0.5
) / 20  # share of the stated variance that the fleet has in common: any is as likely
_MEANS = 241  # common effects tried


@dataclass(frozen=True)
class Season:
    """Prior of a residual's yearly coefficients: mean and standard deviation [natural moves], by terms.YEARLY_TERMS."""

    mean: Array
    sd: Array


def known(lent: Sequence[Lent], baseline: tuple[pd.Timestamp, pd.Timestamp]) -> tuple[Lent, ...]:
    """What was known of other vessels' seasons when a baseline (its first day, and the day after its last) ended:
    nothing that its watch hangs on changes later. A baseline that has seen the year needs none."""
    start, end = baseline
    return () if end - start >= LONG else tuple(one for one in lent if one.known <= end)


def pooled(lent: Sequence[Lent]) -> Mapping[str, Season]:
    """By feature, what may be expected of another vessel; nothing for a feature of fewer than LEAST lenders."""
    by_feature: dict[str, list[Effect]] = {}
    for one in lent:
        for effect in one.effects:
            by_feature.setdefault(effect.feature, []).append(effect)
    return {name: _season(effects) for name, effects in by_feature.items() if len(effects) >= LEAST}


def _season(effects: list[Effect]) -> Season:
    value, error = np.array([e.value for e in effects]), np.array([e.error for e in effects])
    parts = [next_one(value[:, k], error[:, k], sd) for k, sd in enumerate(terms.YEARLY_PRIOR)]
    return Season(*np.array(parts).T)


def next_one(value: Array, error: Array, stated: float) -> tuple[float, float]:
    """Mean and standard deviation of another vessel's coefficient, given those of some with their errors [lenders].

    Before anything is known, every vessel's is normal about 0 with the `stated` standard deviation, an unknown share of
    whose variance the fleet has in common. Averaged over that share and over the common effect; each lender's value may
    be no season at all. Never wider than the stated prior."""
    reach = float(np.max(abs(value))) + 3.0 * stated
    mean = np.linspace(-reach, reach, _MEANS)[None, :]
    common = stated * np.sqrt(_COMMON)[:, None]
    own = stated * np.sqrt(1.0 - _COMMON)[:, None]
    likelihood = norm.logpdf(mean, 0.0, common)
    for y, e in zip(value, error, strict=True):
        season = np.log1p(-SICK) + norm.logpdf(y, mean, np.hypot(own, e))
        other = np.log(SICK) + norm.logpdf(y, 0.0, np.hypot(WILD * stated, e))
        likelihood = likelihood + np.logaddexp(season, other)
    weight = np.exp(likelihood - logsumexp(likelihood))
    middle = float(np.sum(weight * mean))
    variance = float(np.sum(weight * ((mean - middle) ** 2 + own**2)))
    return middle, min(float(np.sqrt(variance)), stated)
