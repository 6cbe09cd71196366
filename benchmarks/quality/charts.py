"""The benchmark's two drawings as SVG."""

from typing import Any

import altair as alt
import pandas as pd
import vl_convert

from benchmarks.quality.compare import Compared
from sevenppb.reports.charts import style

ROW = 24
LABELS = 300


def ways(compared: list[Compared]) -> str:
    """Faults found, days to find them and false incidents, a row a way of watching, a mark a set of
    instruments."""
    rows = [
        {
            "way": o.name,
            "instruments": one.instruments,
            "found": 100.0 * o.found / max(o.faults, 1),
            "days": None if pd.isna(o.days) else o.days,
            "false": o.false.per_year,
        }
        for one in compared
        for o in one.outcomes
    ]
    order = [o.name for o in compared[0].outcomes]
    base = alt.Chart(alt.InlineData(values=rows)).mark_point(filled=True, size=90, opacity=1)
    colour = alt.Color(
        "instruments:N",
        scale=alt.Scale(range=[style.OBSERVED, style.EXPECTED]),
        legend=alt.Legend(title=None, orient="top", labelFontSize=12),
    )
    shape = alt.Shape("instruments:N", scale=alt.Scale(range=["circle", "diamond"]), legend=None)

    def panel(field: str, title: str, labels: bool) -> alt.Chart:
        axis = alt.Axis(labelLimit=LABELS, title=None, grid=True, labels=labels, ticks=False, domain=False)
        drawn: alt.Chart = base.encode(
            x=alt.X(f"{field}:Q", title=title, scale=alt.Scale(zero=True, padding=8)),
            y=alt.Y("way:N", sort=order, axis=axis),
            color=colour,
            shape=shape,
        ).properties(width=190, height=ROW * len(order))
        return drawn

    panels = (
        panel("found", "faults found (%)", True),
        panel("days", "median days to find", False),
        panel("false", "false incidents a vessel-year", False),
    )
    # where a viewer has wider letters than these were measured with, the longest label needs more room
    return _svg(alt.hconcat(*panels, padding={"left": 45, "top": 5, "right": 5, "bottom": 5}).to_dict())


def reliability(bins: pd.DataFrame) -> str:
    """Stated confidence against the share whose cause was right, with 90 % intervals, beside the diagonal."""
    rows = bins.to_dict("records")
    x = alt.X("stated:Q", title="stated confidence", scale=alt.Scale(domain=[0, 1]))
    y = alt.Y("right:Q", title="share with the right cause", scale=alt.Scale(domain=[0, 1]))
    data = alt.Chart(alt.InlineData(values=rows)).encode(x=x)
    line = alt.Chart(alt.InlineData(values=[{"stated": 0, "right": 0}, {"stated": 1, "right": 1}]))
    layers = (
        line.mark_line(color=style.MUTED, strokeDash=[4, 3]).encode(x=x, y=y),
        data.mark_rule(color=style.OBSERVED).encode(y=alt.Y("low_right:Q"), y2="high_right:Q"),
        data.mark_point(filled=True, color=style.OBSERVED, size=80, opacity=1).encode(y=y),
        data.mark_text(align="left", dx=7, dy=9).encode(y=y, text=alt.Text("incidents:Q")),
    )
    return _svg(alt.layer(*layers).properties(width=300, height=300).to_dict())


def _svg(specified: dict[str, Any]) -> str:
    config = style.config() | {"background": "white"}
    drawn: str = vl_convert.vegalite_to_svg({**specified, "config": config})
    return drawn
