"""Work done on a vessel → the features whose level is new from that day on."""

import numpy as np

from sevenppb.detect.causes import CAUSES
from sevenppb.detect.diagnosis.search import Break
from sevenppb.detect.diagnosis.signatures import Candidate, Signatures
from sevenppb.detect.expected import Days
from sevenppb.detect.features import WATCHED
from sevenppb.detect.fleet import Work

FELT = 0.1  # of a move that matters to the vessel, from which a feature's level counts as new


def breaks(work: tuple[Work, ...], days: Days, signed: Signatures) -> tuple[Break, ...]:
    """A fresh level, on the day of the work, in every feature that what it resets can move, judged by the baseline's
    days. Work before the first day or after the last breaks nothing."""
    natural = np.array([WATCHED[f].natural for f in days.features])
    out = []
    for done in work:
        reset = np.array([_resets(done, candidate) for candidate in signed.candidates])
        day = int(days.index.searchsorted(done.date.floor("D")))
        if 0 < day < len(days.index):
            usual = abs(np.mean(signed.moves[days.baseline][..., reset], axis=0))
            touched = (usual > FELT * natural[:, None]).any(axis=1) | ("all" in done.resets)
            mends = (c for c, r in zip(signed.candidates, reset, strict=True) if r)
            out.append(Break(day, touched, mends=frozenset((c.cause, c.role, c.sign) for c in mends)))
    return tuple(out)


def _resets(done: Work, candidate: Candidate) -> bool:
    """Whether work puts right what a candidate says is wrong."""
    own = CAUSES[candidate.cause].resets if candidate.role is None else f"sensor:{candidate.role}"
    return own in done.resets
