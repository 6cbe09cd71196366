"""Work done on a vessel → the features whose level is new from that day on."""

import numpy as np
from numpy.typing import NDArray

from sevenppb.detect.causes import CAUSES
from sevenppb.detect.diagnosis.search import Break
from sevenppb.detect.diagnosis.signatures import Signatures
from sevenppb.detect.expected import Days
from sevenppb.detect.features import WATCHED
from sevenppb.detect.fleet import Work

FELT = 0.1  # of a move that matters to the vessel, from which a feature's level counts as new


def breaks(work: tuple[Work, ...], days: Days, signed: Signatures) -> tuple[Break, ...]:
    """A fresh level, on the day of the work, in every feature that what it resets can move, judged by the baseline's
    days. Work before the first day or after the last breaks nothing."""
    out = []
    for done in work:
        touched = np.zeros(len(days.features), dtype=bool)
        for reset in done.resets:
            touched |= _touched(reset, days, signed)
        day = int(days.index.searchsorted(done.date.floor("D")))
        if 0 < day < len(days.index):
            out.append(Break(day, touched))
    return tuple(out)


def _touched(reset: str, days: Days, signed: Signatures) -> NDArray[np.bool_]:
    if reset == "all":
        return np.ones(len(days.features), dtype=bool)
    natural = np.array([WATCHED[f].natural for f in days.features])
    out = np.zeros(len(days.features), dtype=bool)
    for j, candidate in enumerate(signed.candidates):
        sensor = candidate.role is not None and reset == f"sensor:{candidate.role}"
        if sensor or (candidate.role is None and CAUSES[candidate.cause].resets == reset):
            out |= abs(np.mean(signed.moves[days.baseline, :, j], axis=0)) > FELT * natural
    return out
