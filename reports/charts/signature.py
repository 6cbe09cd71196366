"""Which way every residual moved, beside which way the named cause would move it.

Moves of several hundred standard errors stand beside moves of three: beyond LINEAR the axis is logarithmic.
"""

from typing import Any

import altair as alt

from sevenppb.reports.charts import style
from sevenppb.reports.views.series import SignatureChart

ROW_HEIGHT = 22
LINEAR = 3.0  # standard errors up to which the axis is about linear
TICKS = (-10000, -1000, -100, -10, -3, 0, 3, 10, 100, 1000, 10000)
LABEL_WIDTH = 205  # what a wide fallback font needs for the longest name


@style.unchecked
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
    scale = alt.Scale(type="symlog", constant=LINEAR)
    x = alt.X("move:Q", title="move (standard errors)", scale=scale, axis=alt.Axis(values=_ticks(chart)))
    found = alt.Chart(alt.NamedData("found"))
    predicted = alt.Chart(alt.NamedData("predicted"))
    layers = (
        alt.Chart(alt.NamedData("zero")).mark_rule(color=style.MUTED).encode(x=x),
        found.mark_rule(color=style.OBSERVED, strokeWidth=1.5).encode(x=x, x2=alt.X2("zero:Q"), y=y),
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


def _ticks(chart: SignatureChart) -> list[int]:
    """Those that the moves reach."""
    moves = [move for row in chart.rows for move in (row.found, row.predicted) if move is not None]
    low, high = min(0.0, *moves), max(0.0, *moves)
    return [tick for tick in TICKS if low <= tick <= high]


_CROSS = "M-.6,-.6L.6,.6M.6,-.6L-.6,.6"


def draw(chart: SignatureChart, name: str) -> str:
    """The chart as SVG, in print colours."""
    return style.svg(specification(chart), name)
