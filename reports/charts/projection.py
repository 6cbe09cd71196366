"""Outlet oxygen as read, as projected with its interval, its limit, and the day on which it gets there."""

from typing import Any, Final

import altair as alt

from sevenppb.reports.charts import style
from sevenppb.reports.views.projection import ProjectionChart
from sevenppb.reports.views.series import Mark

HEIGHT = 190
_BREAK: Final = "break-paths-show-path-domains"
BAR = 6  # height of the bar at the foot that is the date's interval


@style.unchecked
def specification(chart: ProjectionChart) -> dict[str, Any]:
    """Read days as dots, coming weeks as a dashed line in a band, on one axis of days."""
    scale = alt.Scale(domain=[0, chart.top])
    x = alt.X(
        "day:T",
        title=None,
        scale=alt.Scale(type="utc"),
        axis=alt.Axis(grid=False, tickCount=8, labelExpr=style.DAY_LABEL),
    )
    value = alt.Y("value:Q", title=chart.unit, scale=scale, axis=style.value_axis())
    ahead = alt.Chart(alt.NamedData("ahead")).encode(x=x)
    read = alt.Chart(alt.NamedData("read")).encode(x=x)
    limit = alt.Chart(alt.NamedData("limit")).encode(y=value)
    layers = [
        ahead.mark_area(color=style.EXPECTED, opacity=0.18, clip=True).encode(
            y=alt.Y("low:Q", scale=scale, title=chart.unit), y2=alt.Y2("high:Q")
        ),
        ahead.mark_line(color=style.EXPECTED, strokeWidth=1.6, strokeDash=[5, 3], clip=True).encode(y=value),
        read.mark_line(
            color=style.OBSERVED, strokeCap="round", strokeWidth=3.2, clip=True, invalid=_BREAK
        ).encode(y=value),
        limit.mark_rule(color=style.INK, strokeWidth=1),
        *style.word(
            limit.encode(text=alt.Text("label:N"), x=style.fixed(alt.XValue, 0)),
            align="left",
            baseline="bottom",
            dx=2,
            dy=-2,
        ),
    ]
    data: dict[str, list[dict[str, Any]]] = {
        # a line that is broken after every day: dots at a tenth of the bytes of symbols
        "read": [
            row
            for day, value in chart.read
            for row in ({"day": day, "value": value}, {"day": day, "value": None})
        ],
        "ahead": [
            {"day": row.day, "value": row.value, "low": row.low, "high": row.high} for row in chart.ahead
        ],
        "limit": [{"value": chart.limit, "label": "limit"}],
    }
    if chart.interval is not None:
        layers.append(_bar())
        data["interval"] = [_stretch(chart.interval)]
    if chart.reached is not None:
        layers.extend(_reached())
        data["reached"] = [_stretch(chart.reached)]
    return style.specification(layers, data, width=style.WIDTH, height=HEIGHT)


def draw(chart: ProjectionChart, name: str) -> str:
    """The chart as SVG, in print colours."""
    return style.svg(specification(chart), name)


def _bar() -> alt.Chart:
    """The date's interval, along the axis of days."""
    bar: alt.Chart = (
        alt.Chart(alt.NamedData("interval"))
        .mark_rect(color=style.EXPECTED, clip=True)
        .encode(
            x=alt.X("start:T"),
            x2=alt.X2("end:T"),
            y=style.fixed(alt.YValue, HEIGHT - BAR),
            y2=style.fixed(alt.Y2Value, HEIGHT),
        )
    )
    return bar


def _reached() -> tuple[alt.Chart, ...]:
    base = alt.Chart(alt.NamedData("reached")).encode(x=alt.X("start:T"))
    rule = base.mark_rule(color=style.INK, strokeWidth=1, strokeDash=[1, 2])
    worded = base.encode(text=alt.Text("label:N"), y=style.fixed(alt.YValue, 0))
    return rule, *style.word(worded, align="right", baseline="top", dx=-4)


def _stretch(mark: Mark) -> dict[str, Any]:
    return {"label": mark.label, "start": mark.start, "end": mark.end}
