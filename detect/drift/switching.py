"""A move that comes and goes: a hidden switch, off until its first day on, then on and off in spells.

A hidden Markov chain (Rabiner, 1989, Proceedings of the IEEE 77, 257) whose spells last days to a month and
whose move is of unknown size; both are averaged over a grid. Only what came back at least once counts: a
single spell is a step's business. The noise remembers the day before, so a day's likelihood takes in the
switch of both days.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import logsumexp

from sevenppb.detect.drift.autoregression import Memory

Array = npt.NDArray[np.float64]

_LEAST_LOG = -300.0  # a day can't rule a state out by more: else a large move leaves no state possible
_SPELLS = (3.0, 10.0, 30.0)  # days, mean length of a spell, on or off
_SIZES = np.geomspace(0.5, 8.0, 12)  # of a move, in standard deviations of one day

# the states: never on yet, on for the first time, off, on again, off again
_ON = np.array([0, 1, 0, 1, 0])
_CAME_BACK = np.array([0.0, 0.0, 0.0, 1.0, 1.0])


@dataclass(frozen=True)
class Switching:
    """`evidence` is the likelihood averaged over spells and sizes, over that of no move at all, a logarithm;
    `gain` the same at the best of them; `size` of the move and its standard error [unit of the residual];
    `onset` the probability of each observed day (n,) being the first on."""

    evidence: float
    gain: float
    size: float
    size_se: float
    onset: Array


def fit(memory: Memory, white: Array, sd: float, size_sd: float, earliest: int) -> Switching:
    """`white`: (n,) innovations of the observed days. sd: usual standard deviation of one day; size_sd: prior
    standard deviation of the move [unit of the residual]. earliest: first day that can be on, as likely the
    first as any later one."""
    first = int(np.searchsorted(memory.days, earliest))
    white, gap = white[first:], memory.gap[first:]
    moves = _moves(memory)[first:]
    hazard = 1.0 / (1.0 + memory.days[-1] - memory.days[first:])
    spells = [(on, off) for on in _SPELLS for off in _SPELLS]
    steps = np.stack([_transitions(gap, hazard, on, off) for on, off in spells], axis=1)
    sizes = sd * np.concatenate([-_SIZES[::-1], _SIZES])
    log_ratio = _log_ratio(moves, white, sizes)
    likelihood = _forward(steps, log_ratio)

    # on a geometric grid, each size stands for a stretch in proportion to itself
    prior = np.exp(-0.5 * (sizes / size_sd) ** 2) * np.abs(sizes)
    posterior = likelihood + np.log(prior / prior.sum() / len(spells))
    spell, size = np.unravel_index(np.argmax(posterior), posterior.shape)
    pairs, onset = _smooth(steps[:, spell], log_ratio[:, size])
    precision = float(np.sum(pairs * moves**2))
    return Switching(
        evidence=float(logsumexp(posterior)),
        gain=float(likelihood.max()),
        size=float(np.sum(pairs * moves * white[:, None, None])) / precision,
        size_se=precision**-0.5,
        onset=np.concatenate([np.zeros(first), onset]),
    )


def _moves(memory: Memory) -> Array:
    """What a unit move adds to each innovation (n, 5, 5), by the state of the day before and of the day."""
    return np.asarray(memory.own[:, None, None] * _ON - memory.before[:, None, None] * _ON[:, None])


def _transitions(gap: npt.NDArray[np.intp], hazard: Array, on: float, off: float) -> Array:
    """Probabilities (n, 5, 5) of going from one state to another over each gap: by spells of these mean
    lengths [days], and by the hazard of the first day on. Spells that begin and end within a gap are not
    counted as such."""
    often_on = on / (on + off)
    kept = (1.0 - 1.0 / on - 1.0 / off) ** gap
    goes_on, goes_off = often_on * (1.0 - kept), (1.0 - often_on) * (1.0 - kept)
    out = np.zeros((len(gap), 5, 5))
    out[:, 0, 0], out[:, 0, 1] = 1.0 - hazard, hazard
    for state in (1, 3):
        out[:, state, state], out[:, state, state + 1] = 1.0 - goes_off, goes_off
    for state in (2, 4):
        out[:, state, state], out[:, state, 3] = 1.0 - goes_on, goes_on
    return out


def _log_ratio(moves: Array, white: Array, sizes: Array) -> Array:
    """Log-likelihood (n, sizes, 5, 5) of each day's innovation over no move."""
    shift = moves[:, None] * sizes[:, None, None]
    return np.asarray(shift * white[:, None, None, None] - 0.5 * shift**2)


def _forward(steps: Array, log_ratio: Array) -> Array:
    """Log-likelihood (spells, sizes) of all days, over the paths that came back."""
    peak = log_ratio.max(axis=(2, 3), keepdims=True)
    ratio = np.exp(np.maximum(log_ratio - peak, _LEAST_LOG))
    state = np.zeros((steps.shape[1], log_ratio.shape[1], 5))
    state[..., 0] = 1.0
    total = np.zeros(state.shape[:2])
    for step, day in zip(steps, ratio, strict=True):
        state = np.einsum("sdb,sbc,dbc->sdc", state, step, day)
        scale = state.sum(axis=2)
        total += np.log(scale)
        state /= scale[..., None]
    came_back = np.log(np.maximum(state @ _CAME_BACK, np.finfo(np.float64).tiny))
    return np.asarray(total + peak.sum(axis=0)[:, 0, 0] + came_back)


def _smooth(steps: Array, log_ratio: Array) -> tuple[Array, Array]:
    """Of one chain that came back: the probabilities (n, 5, 5) of each day's state with the day before's, and
    of each day (n,) being the first on."""
    peak = log_ratio.max(axis=(1, 2), keepdims=True)
    joint = steps * np.exp(np.maximum(log_ratio - peak, _LEAST_LOG))
    n = len(joint)
    ahead, behind = np.zeros((n + 1, 5)), np.empty((n + 1, 5))
    ahead[0, 0], behind[n] = 1.0, _CAME_BACK
    for i in range(n):
        state = ahead[i] @ joint[i]
        ahead[i + 1] = state / state.sum()
    for i in range(n, 0, -1):
        state = joint[i - 1] @ behind[i]
        behind[i - 1] = state / state.sum()
    pairs = ahead[:-1, :, None] * joint * behind[1:, None, :]
    pairs /= pairs.sum(axis=(1, 2), keepdims=True)
    return pairs, pairs[:, 0, 1]
