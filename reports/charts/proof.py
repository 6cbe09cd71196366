"""One cause's trials: days to find each against its size; missed ones as crosses at the top."""

from typing import Any

import altair as alt

from sevenppb.reports.charts import style
from sevenppb.reports.views.proof import TrialsChart

HEIGHT = 120
_CROSS = "M-.6,-.6L.6,.6M.6,-.6L-.6,.6"


@style.unchecked
def specification(chart: TrialsChart) -> dict[str, Any]:
    """Found trials as dots and missed ones as crosses over a logarithmic axis of sizes; the shade is the
    interval of the size that is found nine times in ten."""
    sizes = [dot.size for dot in chart.dots]
    low, high = min(sizes) / 1.25, max(sizes) * 1.25
    x = alt.X(
        "size:Q",
        title=chart.axis,
        scale=alt.Scale(type="log", domain=[low, high]),
        axis=alt.Axis(tickCount=5, format="~g"),
    )
    axis = alt.Axis(
        tickCount=4,
        minExtent=style.VALUE_WIDTH,
        titleAngle=0,
        titleAlign="left",
        titleX=-style.VALUE_WIDTH,
        titleY=-10,
    )
    within = alt.Scale(domain=[0, chart.within], clamp=True)
    y = alt.Y("days:Q", title="days to find", scale=within, axis=axis)
    layers = (
        alt.Chart(alt.NamedData("interval"))
        .mark_rect(color=style.MUTED, opacity=0.18)
        .encode(x=x, x2=alt.X2("to:Q")),
        alt.Chart(alt.NamedData("found"))
        .mark_point(shape="circle", filled=True, size=60, color=style.OBSERVED, opacity=1)
        .encode(x=x, y=y),
        alt.Chart(alt.NamedData("missed"))
        .mark_point(shape=_CROSS, size=90, color=style.EXPECTED, opacity=1, strokeWidth=2)
        .encode(x=x, y=y),
    )
    start = max(chart.low, low)
    shade = [{"size": start, "to": high if chart.high is None else min(chart.high, high)}]
    data: dict[str, list[dict[str, Any]]] = {
        "interval": shade,
        "found": [{"size": dot.size, "days": dot.days} for dot in chart.dots if dot.found],
        "missed": [{"size": dot.size, "days": dot.days} for dot in chart.dots if not dot.found],
    }
    return style.specification(layers, data, width=style.WIDTH, height=HEIGHT)


def draw(chart: TrialsChart, name: str) -> str:
    """The chart as SVG, in print colours."""
    return style.svg(specification(chart), name)
