"""Which way every residual moved, beside which way the named cause would move it."""

from typing import Any

import altair as alt

from sevenppb.reports.charts import style
from sevenppb.reports.views.series import SignatureChart

ROW_HEIGHT = 22
LABEL_WIDTH = 205  # what a wide fallback font needs for the longest name


def specification(chart: SignatureChart) -> dict[str, Any]:
    """A row a residual, found as a dot on a stem and predicted as a cross, in standard errors about zero."""
    axis = alt.Axis(
        domain=False,
        ticks=False,
        labelLimit=LABEL_WIDTH,
        labelPadding=6,
        minExtent=LABEL_WIDTH,
        labelOverlap=False,
        labelFlush=False,
    )
    y = alt.Y("label:N", sort=[row.label for row in chart.rows], title=None, axis=axis)
    x = alt.X("move:Q", title="move (standard errors)", axis=alt.Axis(tickCount=5))
    found = alt.Chart(alt.NamedData("found"))
    predicted = alt.Chart(alt.NamedData("predicted"))
    layers = (
        alt.Chart(alt.NamedData("zero")).mark_rule(color=style.MUTED).encode(x=x),
        found.mark_rule(color=style.OBSERVED, strokeWidth=1.5).encode(x=x, x2="zero:Q", y=y),
        found.mark_point(shape="circle", filled=True, size=60, color=style.OBSERVED, opacity=1).encode(
            x=x, y=y
        ),
        predicted.mark_point(shape=_CROSS, size=90, color=style.EXPECTED, opacity=1, strokeWidth=2).encode(
            x=x, y=y
        ),
    )
    data: dict[str, list[dict[str, Any]]] = {
        "zero": [{"move": 0}],
        "found": [{"label": row.label, "move": row.found, "zero": 0} for row in chart.rows],
        "predicted": [
            {"label": row.label, "move": row.predicted} for row in chart.rows if row.predicted is not None
        ],
    }
    return style.specification(
        layers,
        data,
        width=style.WIDTH - LABEL_WIDTH + style.VALUE_WIDTH,
        height=ROW_HEIGHT * len(chart.rows),
    )


_CROSS = "M-.6,-.6L.6,.6M.6,-.6L-.6,.6"


def draw(chart: SignatureChart, name: str) -> str:
    """The chart as SVG, in print colours."""
    return style.svg(specification(chart), name)
