"""Exports that don't fit in memory, cut in spans of time that do: every reading lies in one of them."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sevenppb.detect.exports import local_time
from sevenppb.detect.exports.engine import Engine
from sevenppb.detect.exports.load import Source
from sevenppb.detect.exports.local_time import HOUR_US
from sevenppb.detect.exports.merge import FARTHEST_US

AT_ONCE = 8_000_000  # values in memory: a vessel-year of minutes fits
SPAN = 1_500_000  # values in a span: some 100 MB with all copies of them
_DAY_US = 24 * HOUR_US
_ANY_ZONE = 15 * HOUR_US  # no clock is farther from UTC
_NO_CHANGE = (
    2 * _DAY_US
)  # so far from a change of the clock are the cuts, so that a repeated hour stays whole


@dataclass(frozen=True)
class Span:
    """From `start` to before `end` [us UTC]; the first also holds the readings without a time."""

    start: int | None
    end: int | None

    def condition(self, time: str, zoned: bool) -> str:
        """The engine's condition for rows that may lie inside, by the expression of their time; of a wall
        clock's times some hours more on both sides."""
        margin = 0 if zoned else _ANY_ZONE
        parts = [] if self.start is None else [f"{time} >= {self.start - margin}"]
        if self.end is not None:
            before = f"{time} < {self.end + margin}"
            parts.append(before if parts else f"({before} OR {time} IS NULL)")
        return " AND ".join(parts) or "true"

    def limits(self, since: int | None, until: int | None) -> tuple[int | None, int | None]:
        """The span within `since` and `until`, both included."""
        first = [t for t in (self.start, since) if t is not None]
        last = [t for t in (None if self.end is None else self.end - 1, until) if t is not None]
        return max(first, default=None), min(last, default=None)


def spans(engine: Engine, opened: Sequence[Source], tags: int, zone: str) -> list[Span]:
    """The spans in which the exports of so many tags are read: one where they fit in memory as a whole."""
    weights = [1 if source.code else tags for source in opened]
    if sum(source.rows * weight for source, weight in zip(opened, weights, strict=True)) <= AT_ONCE:
        return [Span(None, None)]
    days: Counter[int] = Counter()
    for source, weight in zip(opened, weights, strict=True):
        time = source.times[0][1]
        sql = (
            f"SELECT {time} // {_DAY_US}, count(*) FROM {source.relation} WHERE {time} IS NOT NULL GROUP BY 1"
        )
        days.update({day: count * weight for day, count in engine.rows(sql)})
    cuts = _cuts(days, zone)
    return [Span(a, b) for a, b in zip([None, *cuts], [*cuts, None], strict=True)]


def _cuts(days: Counter[int], zone: str) -> list[int]:
    """Noons between the spans, among the days that can be believed."""
    order = np.array(sorted(days), dtype=np.int64)
    count = np.array([days[int(day)] for day in order])
    middle = order[np.searchsorted(np.cumsum(count), count.sum() / 2)] if len(order) else 0
    near = np.abs(order - middle) * _DAY_US < FARTHEST_US
    cuts: list[int] = []
    held, left = 0, int(count[near].sum())
    for day, here in zip(order[near].tolist(), count[near].tolist(), strict=True):
        held, left = held + here, left - here
        noon = day * _DAY_US + 12 * HOUR_US
        if held >= SPAN and left >= SPAN // 2 and not local_time.changes(zone, noon, noon, _NO_CHANGE):
            cuts.append(noon)
            held = 0
    return cuts
