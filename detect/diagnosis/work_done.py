"""Work done on a vessel → the features whose level is new after it."""

import numpy as np

from sevenppb.detect.causes import CAUSES
from sevenppb.detect.diagnosis.search import Mended
from sevenppb.detect.diagnosis.signatures import Candidate, Signatures
from sevenppb.detect.expected import Days
from sevenppb.detect.features import WATCHED
from sevenppb.detect.fleet import Work

# UTC days from that of the work on that are neither before it nor after: the plant's day lies in two of them, and a log
# can be a day off
MIXED = 3
FELT = 0.1  # of a move that matters to the vessel, from which a feature's level counts as new


def breaks(work: tuple[Work, ...], days: Days, signed: Signatures) -> tuple[Mended, ...]:
    """A fresh level, MIXED days from the work on, in every feature that what it resets can move, judged by the
    baseline's days. Work before the first day or after the last breaks nothing."""
    natural = np.array([WATCHED[f].natural for f in days.features])
    out = []
    for done in work:
        reset = np.array([_resets(done, candidate) for candidate in signed.candidates])
        first = int(days.index.searchsorted(done.date.floor("D")))
        if 0 < first < len(days.index):
            usual = abs(np.mean(signed.moves[days.baseline][..., reset], axis=0))
            touched = (usual > FELT * natural[:, None]).any(axis=1) | ("all" in done.resets)
            mends = (c for c, r in zip(signed.candidates, reset, strict=True) if r)
            day = int(days.index.searchsorted(done.day))
            mended = frozenset((c.cause, c.role, c.sign) for c in mends)
            out.append(Mended(min(first + MIXED, len(days.index)), touched, first, day, mended))
    return tuple(out)


def _resets(done: Work, candidate: Candidate) -> bool:
    """Whether work puts right what a candidate says is wrong."""
    own = CAUSES[candidate.cause].resets if candidate.role is None else f"sensor:{candidate.role}"
    return own in done.resets
