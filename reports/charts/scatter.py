"""A reading against the load: days before the change as dashes, days after it as dots."""

from collections.abc import Iterable
from typing import Any, Final

import altair as alt

from sevenppb.reports.charts import style
from sevenppb.reports.views.scatter import ScatterChart

HEIGHT = 190
_DASH = 0.008  # a dash's length as a share of the loads' range
_BREAK: Final = "break-paths-show-path-domains"


@style.unchecked
def specification(chart: ScatterChart) -> dict[str, Any]:
    """Two clouds over one axis of loads."""
    loads = [x for x, _ in (*chart.before, *chart.after)]
    half = _DASH * max(max(loads) - min(loads), 1e-6) / 2
    before = _numbered(row for x, y in chart.before for row in ((x - half, y), (x + half, y), (x, None)))
    after = _numbered(row for x, y in chart.after for row in ((x, y), (x, None)))
    x = alt.X(
        "load:Q",
        title=f"water flow ({chart.load_unit})",
        scale=alt.Scale(zero=False),
        axis=alt.Axis(tickCount=4, grid=False, labelFlush=False),
    )
    y = alt.Y(
        "reading:Q", title=chart.unit or "reading", scale=alt.Scale(zero=False), axis=style.value_axis()
    )
    # broken lines with round or flat ends: a tenth of the bytes of symbols
    dashes = alt.Chart(alt.NamedData("before")).mark_line(
        color=style.EXPECTED, strokeCap="butt", strokeWidth=2, invalid=_BREAK
    )
    dots = alt.Chart(alt.NamedData("after")).mark_line(
        color=style.OBSERVED, strokeCap="round", strokeWidth=3.6, invalid=_BREAK
    )
    kept = alt.Order("n:Q")  # as the rows stand: sorted by load, breaks would wander
    layers = (dashes.encode(x=x, y=y, order=kept), dots.encode(x=x, y=y, order=kept))
    return style.specification(layers, {"before": before, "after": after}, width=style.WIDTH, height=HEIGHT)


def draw(chart: ScatterChart, name: str) -> str:
    """The chart as SVG, in print colours."""
    return style.svg(specification(chart), name)


def _numbered(pairs: Iterable[tuple[float, float | None]]) -> list[dict[str, Any]]:
    return [{"n": n, "load": x, "reading": y} for n, (x, y) in enumerate(pairs)]
