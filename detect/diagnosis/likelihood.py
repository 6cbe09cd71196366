"""Which cause explains the change? Bayes over the table of causes, drift of each sensor, nothing, and something else.

Each explanation predicts a pattern of effects over the residuals; its likelihood is integrated over the size of its
move. Plants differ from the model, so each predicted effect carries a relative standard error, and effects that are
not predicted are allowed in proportion to the predicted ones. No threshold is tuned to a cause.
"""

from dataclasses import dataclass
from functools import cache
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from sevenppb.detect.balance import fit
from sevenppb.detect.balance.health import DIRECT
from sevenppb.detect.causes import CAUSES
from sevenppb.detect.diagnosis import priors, signatures
from sevenppb.detect.diagnosis.change import Change
from sevenppb.detect.diagnosis.explained import (
    KNOTS,
    SIZES,
    SPILL,
    Doubt,
    Loose,
    Row,
    Scatter,
    allowing,
    at_sizes,
    by_size,
    by_size_fixed,
    could_gain,
    log_mean,
)
from sevenppb.detect.diagnosis.own_reading import Own, OwnMove, log_ratio, own_moves, own_readings
from sevenppb.detect.diagnosis.pairs import pairs
from sevenppb.detect.diagnosis.signatures import Candidate, Cause, Instruments
from sevenppb.detect.expected import Days
from sevenppb.detect.features import SWING, WATCHED
from sevenppb.detect.settings import Settings

Array = NDArray[np.float64]

EVERY = 12  # days between those at which patterns are taken
WORTH_ASKING = 1.5  # gain in log likelihood
SENSOR_DISCREPANCY = (
    0.2  # what a wrong reading does to residuals, or a parameter to the reading that shows it
)
SENSOR_SPILL = 0.08  # as SPILL: a wrong reading moves nothing in the vessel
STANDING_SHARE = 0.15  # of a change that is there, by which it may differ under other conditions
AGAIN_DISCREPANCY = 0.35  # its pattern was measured, but while it was small
STEEPNESS = 1.0  # exponent of a fault's effect on load that plants differ by: sprays and trays follow load in many ways
SUPPLY_MOVES = 0.02  # probability that the supply's pressure moved for its own reasons, whatever else did
SHOWN = 0.3  # of a change's course, from which on a day counts as one on which it was there
BROAD = 2.0  # an unexplained change moves a residual by this many natural moves


@dataclass(frozen=True)
class Explanation:
    """A candidate with its posterior probability and its size with 90 % interval, in the signature's step; `beside`, a
    second one that is needed with it to explain the change (None: it does alone)."""

    candidate: Candidate | None
    cause: str
    role: str | None
    probability: float
    size: float
    low: float
    high: float
    pattern: Array
    beside: Candidate | None = None


@dataclass(frozen=True)
class Again:
    """Posterior probability that a change already known has gone on growing, or has gone back."""

    growing: float
    going_back: float


@dataclass(frozen=True)
class Diagnosis:
    """Explanations by falling probability, given that something new has changed; `nothing` is the posterior probability
    that nothing has, `again` one record for each change already known, `own` how conditions' readings moved with it."""

    explanations: tuple[Explanation, ...]
    nothing: float
    again: tuple[Again, ...]
    own: tuple[OwnMove, ...]


@dataclass(frozen=True)
class Patterns:
    """What each candidate would do to each residual at the KNOTS, for K draws of the plant on S days of the record:
    rows [S] of Days, moves [KNOTS, K, S, F, J]; and the conditions' own readings, which a drifting sensor moves."""

    candidates: tuple[Candidate, ...]
    rows: NDArray[np.intp]
    moves: Array
    own: tuple[Own, ...]

    def during(self, change: Change) -> Array:
        """Moves averaged over the days on which a change was there, not those that came later [KNOTS, K, F, J]."""
        there = (change.course[self.rows] > SHOWN) & (self.rows < change.end)
        if not there.any():
            there = self.rows == self.rows[max(int(np.searchsorted(self.rows, change.end)) - 1, 0)]
        return np.asarray(self.moves[:, :, there].mean(axis=2))

    def showing(self, change: Change, told: Explanation, n: int) -> Array:
        """What each residual would show on each of n days of a change that is still there, over what it showed of it
        while it was seen [n, F]; 1 where the explanation says nothing of that."""
        if told.candidate is None:
            return np.ones((n, len(change.effect)))
        j = self.candidates.index(told.candidate)
        knot = int(np.argmin(abs(np.log(np.array(KNOTS) / told.size))))
        moves = self.moves[knot, ..., j].mean(axis=0)  # [S, F]
        usual = self.during(change)[knot, ..., j].mean(axis=0)  # [F]
        says = abs(usual) > 0.0
        shown = np.where(says, moves, 1.0) / np.where(says, usual, 1.0)
        rows = np.arange(n)
        return np.column_stack(
            [np.interp(rows, self.rows, one) for one in np.clip(shown, 0.0, 1.0 / SHOWN).T]
        )


def patterns_of(days: Days, instruments: Instruments) -> Patterns:
    """Patterns at every EVERY-th day that ran; the days don't hang on how far the record goes."""
    running = (days.hours > 0) & ~np.isnan(days.at.flow)
    rows = np.flatnonzero(running & (np.arange(len(running)) % EVERY == 0))
    drawn = signatures.signatures(
        fit.take(days.at, rows), days.fitted.draws, days.features, instruments, KNOTS
    )
    return Patterns(drawn.candidates, rows, drawn.moves, own_readings(days, instruments.roles))


def worth_asking(days: Days, change: Change) -> bool:
    """Whether a change can be more likely something than nothing at all: a bound that costs nothing. The best
    explanation gains at most half the sum of squares of the effects over error and tolerance."""
    use = np.isfinite(change.error)
    gain = 0.5 * np.sum(change.effect[use] ** 2 / (change.error[use] ** 2 + days.tolerance[use] ** 2))
    return bool(gain > WORTH_ASKING)


@dataclass(frozen=True)
class _Weighed:
    """Rows with their posterior: candidates, pairs and `unexplained` first, `nothing` as row `new`, then known changes
    again; the effects that can be judged, their scatter `base`, the features' natural moves, and how conditions' own
    readings moved."""

    rows: tuple[Row, ...]
    posterior: Array
    new: int
    effect: Array
    base: Scatter
    natural: Array
    own: tuple[OwnMove, ...]


def nothing(days: Days, change: Change, patterns: Patterns, correlation: Array, settings: Settings) -> float:
    """Posterior probability that a change is none."""
    weighed = _weighed(days, change, patterns, correlation, settings, (), frozenset())
    return float(weighed.posterior[weighed.new])


def diagnose(
    days: Days,
    change: Change,
    patterns: Patterns,
    correlation: Array,
    settings: Settings,
    earlier: tuple[Array, ...] = (),
    at_work: frozenset[Cause] = frozenset(),
    standing: Array | None = None,
) -> Diagnosis:
    """Posterior over explanations of one change.

    earlier   effects [F, on the test scale] of changes already known, which may go on growing or go back; the
              posterior probability of each is in `again`
    at_work   cause, role and sign of candidates that explain changes already known (a fault that grows may show in
              other readings than it did while it was small), or that were mended when the change ended
    standing  effects [F, on the test scale] of changes still there: they differ from day to day with the load and the
              season, by STANDING_SHARE of themselves
    """
    weighed = _weighed(days, change, patterns, correlation, settings, earlier, at_work, standing)
    posterior, new = weighed.posterior, weighed.new
    something = max(float(posterior[:new].sum()), 1e-12)
    mains: dict[Candidate | None, list[int]] = {}
    for k, row in enumerate(weighed.rows[:new]):
        mains.setdefault(row.candidate, []).append(k)
    found = [  # a cause alone and with another beside it is one explanation
        _explanation(
            weighed,
            weighed.rows[max(own, key=lambda k: posterior[k])],
            float(posterior[own].sum()) / something,
        )
        for own in mains.values()
    ]
    found.sort(key=lambda e: -e.probability)
    again = tuple(Again(float(grow), float(back)) for grow, back in posterior[new + 1 :].reshape(-1, 2))
    return Diagnosis(tuple(found), float(posterior[new]), again, weighed.own)


def _weighed(
    days: Days,
    change: Change,
    patterns: Patterns,
    correlation: Array,
    settings: Settings,
    earlier: tuple[Array, ...],
    at_work: frozenset[Cause],
    standing: Array | None = None,
) -> _Weighed:
    use = np.isfinite(change.error)
    effect, error = change.effect[use], change.error[use]
    names = [f for f, u in zip(days.features, use, strict=True) if u]
    natural = np.array([WATCHED[f].natural for f in names])
    usual = correlation[np.ix_(use, use)] * np.outer(error, error) + np.diag(days.tolerance[use] ** 2)
    if standing is not None:
        usual += np.diag((STANDING_SHARE * standing[use]) ** 2)
    loose = None
    if "supply_pressure" in names:
        place = names.index("supply_pressure")
        loose = Loose(place, (BROAD * natural[place]) ** 2, SUPPLY_MOVES)
    base = Scatter(usual, loose)
    during = patterns.during(change)[:, :, use, :]

    moves = own_moves(patterns.own, change)
    bend = _bend(names, days.swing)
    sensors = sum(c.cause == "sensor-drift" for c in patterns.candidates)
    rows: list[Row] = []
    for j, candidate in enumerate(patterns.candidates):
        sensor = candidate.cause == "sensor-drift"
        prior = priors.of(candidate, sensors, change.by_load, at_work)
        share = np.full(len(names), SENSOR_DISCREPANCY if sensor else settings.discrepancy)
        share[[name == DIRECT.get(CAUSES[candidate.cause].parameter or "") for name in names]] = (
            SENSOR_DISCREPANCY
        )
        doubt = Doubt(share, SENSOR_SPILL) if sensor else Doubt(share, SPILL, bend)
        mean = at_sizes(during[..., j])
        own = log_ratio(moves, candidate)
        if could_gain(mean[:, -1], base).max() + max(own.max(), 0.0) < WORTH_ASKING:
            continue  # it would show nothing on these days, whatever its size: it explains none
        likelihood = by_size(effect, base, mean, natural, doubt) + own
        total = float(np.log(prior)) + log_mean(likelihood)
        rows.append(Row(candidate, candidate.cause, total, likelihood, mean, doubt, own=own))
    rows += pairs(tuple(rows), effect, base, natural)
    broad = BROAD * natural * np.where(_few(len(names)), 1.0, SPILL)
    zero = np.zeros((1, 1, len(effect)))
    for cause, chance, allowed in (
        ("unexplained", priors.UNEXPLAINED, broad[None] ** 2),
        ("nothing", priors.of_nothing(settings.false_alarms), zero),
    ):
        likelihood = allowing(effect, base, zero, allowed)
        total = float(np.log(chance)) + log_mean(likelihood)
        rows.append(Row(None, cause, total, likelihood, effect[None, None, :]))
    new = len(rows) - 1
    for known in earlier:
        for sizes in (SIZES, -np.minimum(SIZES, 1.0)):  # no more can go back than was there
            mean = sizes[None, :, None] * np.nan_to_num(known)[use]
            likelihood = by_size(effect, base, mean, natural, Doubt(np.full(len(names), AGAIN_DISCREPANCY)))
            rows.append(
                Row(None, "again", float(np.log(priors.AGAIN)) + log_mean(likelihood), likelihood, mean)
            )

    totals = np.array([row.total for row in rows])
    posterior = np.exp(totals - totals.max())
    return _Weighed(tuple(rows), posterior / posterior.sum(), new, effect, base, natural, moves)


def _explanation(weighed: _Weighed, row: Row, probability: float) -> Explanation:
    size, low, high, there = 1.0, 1.0, 1.0, 0
    role = None
    if row.candidate is not None and row.doubt is not None:
        size, low, high = _size(
            by_size_fixed(weighed.effect, weighed.base, row.mean, weighed.natural, row.doubt) + row.own
        )
        there = int(np.argmin(abs(np.log(SIZES / size))))
        role = row.candidate.role
    like = np.exp(row.likelihood - row.likelihood.max()).sum(axis=1)  # [K]: which draws of the plant fit
    told = (like @ row.mean[:, there]) / like.sum()
    return Explanation(row.candidate, row.cause, role, probability, size, low, high, told, row.beside)


def _bend(names: list[str], swing: float) -> Array:
    """What a fault's effect may rise with load within a day, per effect, on top of what the model says [F, F]."""
    out = np.zeros((len(names), len(names)))
    for i, name in enumerate(names):
        level = name.removesuffix(SWING)
        if level != name and level in names:
            out[names.index(level), i] = STEEPNESS * swing
    return out


@cache
def _few(features: int) -> NDArray[np.bool_]:
    """Which residuals an unexplained change moves [sets, features]: one, two, three, or all of them."""
    sets = [pick for most in (1, 2, 3) for pick in combinations(range(features), most)]
    out = np.zeros((len(sets) + 1, features), dtype=bool)
    for row, pick in zip(out, sets, strict=False):
        row[list(pick)] = True
    out[-1] = True
    return out


def _size(likelihood: Array) -> tuple[float, float, float]:
    """The size's median and 90 % interval, any size as likely beforehand as any other: were any order of magnitude, the
    smallest that are not impossible would pull it down."""
    weight = np.exp(likelihood - likelihood.max()).sum(axis=0) * SIZES
    share = (np.cumsum(weight) - weight / 2.0) / weight.sum()
    at = [float(np.exp(np.interp(q, share, np.log(SIZES)))) for q in (0.5, 0.05, 0.95)]
    return at[0], at[1], at[2]
