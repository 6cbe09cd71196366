"""Fewer points for a chart without losing a spike."""

import numpy as np

from sevenppb.reports.views.series import EvidenceChart

MOST = 400


def kept(
    observed: tuple[float | None, ...], expected: tuple[float | None, ...], most: int = MOST
) -> list[int]:
    """Positions of the days to draw, ascending, at most `most`: of each bucket of days the lowest and the
    highest residual, so that every dot drawn is a day that was. A bucket without any keeps its first day."""
    n = len(observed)
    if n <= most:
        return list(range(n))
    residual = np.array(
        [np.nan if o is None or e is None else o - e for o, e in zip(observed, expected, strict=True)]
    )
    keep: set[int] = set()
    for bucket in np.array_split(np.arange(n), most // 2):
        inside = residual[bucket]
        if np.isnan(inside).all():
            keep.add(int(bucket[0]))
            continue
        keep.update((int(bucket[np.nanargmin(inside)]), int(bucket[np.nanargmax(inside)])))
    return sorted(keep)


def rows(chart: EvidenceChart) -> list[dict[str, str | float | None]]:
    """The chart's days as rows, thinned."""
    return [
        {
            "day": chart.days[i],
            "observed": chart.observed[i],
            "expected": chart.expected[i],
            "low": chart.low[i],
            "high": chart.high[i],
        }
        for i in kept(chart.observed, chart.expected)
    ]
