"""What speaks for an episode's explanations: readings lately, as they would be without the change, and as each
explanation would have moved them."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sevenppb.detect.diagnosis.likelihood import Explanation
from sevenppb.detect.diagnosis.own_reading import HELD, OwnMove
from sevenppb.detect.diagnosis.signatures import SENSOR_STEPS
from sevenppb.detect.expected import Days
from sevenppb.detect.features import WATCHED, Watched, to_natural
from sevenppb.detect.incidents.episode import Episode
from sevenppb.detect.incidents.incident import Alternative, Evidence
from sevenppb.detect.roles import ROLES, possible

MOST_TOLD = 5  # explanations
NEGLIGIBLE = 0.01  # probability of an explanation


@dataclass(frozen=True)
class Base:
    """A residual lately, on the test scale: as seen, and as it would be without the change. `place` is its column in
    the explanations' patterns, `column` the one in Days."""

    place: int
    column: int
    seen: float
    without: float


def bases_of(days: Days, episode: Episode, recent: NDArray[np.intp]) -> tuple[Base, ...]:
    change = episode.change
    rows = []
    for k, f in enumerate(np.flatnonzero(np.isfinite(change.error))):
        values = days.residual[recent, f] + days.balance[recent, f]
        if np.isnan(values).all():
            continue
        seen = float(np.nanmean(values))
        without = seen - float(change.effect[f] * np.mean(change.course[recent]))
        rows.append(Base(k, int(f), seen, without))
    return tuple(rows)


def natural(days: Days, base: Base) -> tuple[float, float]:
    """A reading lately, and as it would be without the change [its unit]."""
    feature = WATCHED[days.features[base.column]]
    seen, without = to_natural(feature, np.array([base.seen, base.without]))
    return float(seen), float(without)


def evidence_of(
    days: Days,
    episode: Episode,
    bases: tuple[Base, ...],
    own: tuple[OwnMove, ...],
    recent: NDArray[np.intp],
) -> tuple[Evidence, ...]:
    best = episode.diagnosis.explanations[0]
    change = episode.change
    rows = []
    for base in bases:
        feature = WATCHED[days.features[base.column]]
        observed, without = natural(days, base)
        expected = float(possible(feature.role, without))
        z = float(change.effect[base.column] / change.error[base.column])
        move = _move(feature, base, best)
        rows.append(Evidence(feature.name, feature.unit, expected, observed, z, move))
    for one in own:
        values = getattr(days.at, one.role)[recent]
        if np.isnan(values).all():
            continue
        observed = float(np.nanmean(values))
        found = one.moved * SENSOR_STEPS[one.role][0] * float(np.mean(change.course[recent]))
        z = one.moved / float(np.hypot(one.error, one.tolerance))
        expected = float(possible(one.role, observed - found))
        rows.append(
            Evidence(one.role, ROLES[one.role].unit, expected, observed, z, _own_move(one.role, best))
        )
    return tuple(sorted(rows, key=lambda e: -abs(e.z)))


def own_telling(episode: Episode) -> tuple[OwnMove, ...]:
    """Conditions' own readings that tell for or against their sensor's drift: one that moved with it, or one that stood
    although no control holds it."""
    named, *others = (told.role for told in _told(episode))
    out = []
    for one in episode.diagnosis.own:
        moved = abs(one.moved) > np.hypot(one.error, one.tolerance)
        if (one.role == named and moved) or (one.role in (named, *others) and not (moved or HELD[one.role])):
            out.append(one)
    return tuple(out)


def alternatives_of(
    days: Days, episode: Episode, bases: tuple[Base, ...], own: tuple[OwnMove, ...]
) -> tuple[Alternative, ...]:
    """The runner-up, and whatever else is not negligible, each with the moves that it would have made."""
    rows = []
    features = [(days.features[base.column], base) for base in bases]
    for told in _told(episode)[1:]:
        moves = tuple((name, _move(WATCHED[name], base, told)) for name, base in features)
        moves += tuple((one.role, _own_move(one.role, told)) for one in own)
        rows.append(Alternative(told.cause, told.role, told.probability, moves))
    return tuple(rows)


def _own_move(role: str, told: Explanation) -> float:
    """The move that an explanation would make of a condition's own reading [its unit]."""
    if told.candidate is None or told.role != role:
        return 0.0
    return told.candidate.sign * told.size * told.candidate.step


def _move(feature: Watched, base: Base, told: Explanation) -> float:
    """The move that an explanation would make of a feature lately [its unit]."""
    moved = base.without + float(told.pattern[base.place])
    after, before = (
        float(possible(feature.role, to_natural(feature, np.array(v)))) for v in (moved, base.without)
    )
    return after - before


def _told(episode: Episode) -> tuple[Explanation, ...]:
    """The explanations that are told: the likeliest, its runner-up, and up to three more that are not negligible."""
    likely = episode.diagnosis.explanations[:MOST_TOLD]
    return tuple(told for n, told in enumerate(likely) if n < 2 or told.probability >= NEGLIGIBLE)
