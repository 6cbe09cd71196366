"""What a vessel's baseline of a year says of its seasons, for others that have not seen one."""

from dataclasses import replace

import numpy as np

from sevenppb.detect import baseline_doubt
from sevenppb.detect.baseline import LONG, Baseline
from sevenppb.detect.diagnosis import search
from sevenppb.detect.diagnosis.search import Break
from sevenppb.detect.expected import Days
from sevenppb.detect.features import SWING, WATCHED
from sevenppb.detect.seasonal import terms
from sevenppb.detect.seasonal.lent import Effect, Lent

_DIGITS = (
    4  # significant ones: the last digits of a calculation must not make another vessel's result another
)


def lent(vessel: str, days: Days, work: tuple[Break, ...], healthy: Baseline) -> Lent | None:
    """The yearly terms as the baseline alone shows them, no prior on them; not those of features that moved through it
    otherwise. None where the baseline is shorter than LONG, or not over yet."""
    after = days.index[(days.index >= healthy.end) & (days.hours > 0)]
    if healthy.end - healthy.start < LONG or not len(after):
        return None
    yearly = [days.term_names.index(name) for name in terms.YEARLY_TERMS]
    free = days.prior.copy()
    free[:, yearly] = np.inf
    white = search.whiteners(replace(days, prior=free), work)
    end = int(days.index.searchsorted(healthy.end))
    doubtful = baseline_doubt.moved(days)
    effects = []
    for f, name in enumerate(days.features):
        if name not in doubtful and not name.endswith(SWING):
            value, error = white[f].coefficients(days.residual[:, f], end)
            natural = WATCHED[name].natural
            effects.append(Effect(name, _rounded(value[yearly] / natural), _rounded(error[yearly] / natural)))
    return Lent(vessel, after[0], tuple(effects))


def _rounded(values: np.ndarray) -> tuple[float, ...]:
    return tuple(float(f"{value:.{_DIGITS}g}") for value in values)
