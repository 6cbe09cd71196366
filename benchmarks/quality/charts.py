"""The benchmark's two drawings as SVG."""

from typing import Any

import altair as alt
import pandas as pd
import vl_convert

from benchmarks.quality.compare import Compared
from benchmarks.quality.outcome import NAME, Outcome
from sevenppb.detect.settings import DEFAULTS
from sevenppb.reports.charts import style

TICKS = (
    0.01,
    0.03,
    0.1,
    0.3,
    1.0,
    3.0,
    10.0,
)  # false incidents a vessel-year; the axis ends with the outer ones
SIDE = 330
# told apart on paper and by the colour-blind: no two have the same colour, and none is known by its colour alone
LOOKS = (
    (style.OBSERVED, (1, 0)),
    ("#D55E00", (7, 3)),
    ("#8C8C8C", (2, 2)),
    ("#009E73", (9, 3, 2, 3)),
    ("#CC79A7", (1, 0)),
    ("#E69F00", (4, 2)),
    ("#7A4A12", (12, 4)),
    ("#56B4E9", (2, 2, 6, 2)),
)


def curves(compared: list[Compared]) -> str:
    """Faults found against false incidents a vessel-year as measured, a panel a set of instruments. A line a rival,
    with hindsight, and a ring where its threshold came out; sevenppb's points are its budgets, the large one its
    default."""
    return as_svg(alt.hconcat(*map(_panel, compared), spacing=30).to_dict())


def _panel(one: Compared) -> alt.LayerChart:
    names = [NAME, *one.curves]
    looks = ((style.INK, (1, 0)), *LOOKS)[: len(names)]
    legend = alt.Legend(
        title=None,
        orient="bottom",
        columns=2,
        columnPadding=60,  # readers' fonts are wider than those it is measured with
        labelLimit=SIDE,
        symbolType="stroke",
        symbolSize=900,
        symbolStrokeWidth=3,
        labelFontSize=12,
    )
    colour = alt.Color(
        "way:N", sort=names, legend=legend, scale=alt.Scale(domain=names, range=[c for c, _ in looks])
    )
    dash = alt.StrokeDash(
        "way:N", sort=names, legend=legend, scale=alt.Scale(domain=names, range=[list(d) for _, d in looks])
    )
    named = f"datum.value == {TICKS[0]} ? '≤ {TICKS[0]}' : format(datum.value, '~g')"
    x = alt.X(
        "false:Q",
        title="false incidents a vessel-year",
        scale=alt.Scale(type="log", domain=[TICKS[0], TICKS[-1]]),
        axis=alt.Axis(values=TICKS, labelExpr=named, labelFlush=False),
    )
    y = alt.Y("found:Q", title="faults found (%)", scale=alt.Scale(domain=[0, 100]))

    def drawn(rows: list[dict[str, Any]]) -> alt.Chart:
        return alt.Chart(alt.InlineData(values=rows)).encode(x=x, y=y)

    rising = [row for curve in one.curves.values() for row in _steps(curve)]
    budgets = [{**_point(o), "budget": budget} for budget, o in one.budgets.items()]
    rings = [_point(o) for o in one.outcomes if o.name in one.curves]
    usual = alt.datum.budget == DEFAULTS.false_alarms
    line = alt.Chart(alt.InlineData(values=[{"false": DEFAULTS.false_alarms}]))
    layers = (
        line.mark_rule(color=style.MUTED, strokeDash=[4, 3]).encode(x=x),
        drawn(rising)
        .mark_line(interpolate="step-after", strokeWidth=1.8)
        .encode(color=colour, strokeDash=dash),
        drawn(rings).mark_point(filled=False, size=60, strokeWidth=1.8, opacity=1).encode(color=colour),
        drawn(budgets).mark_line(strokeWidth=3).encode(color=colour, strokeDash=dash, order="budget:Q"),
        drawn(budgets)
        .mark_point(filled=True, opacity=1)
        .encode(color=colour, size=alt.condition(usual, alt.value(160), alt.value(50))),
    )
    panel: alt.LayerChart = alt.layer(*layers).properties(
        width=SIDE, height=SIDE, title=heading(one.instruments)
    )
    return panel


def _steps(curve: tuple[Outcome, ...]) -> list[dict[str, Any]]:
    """From the axis's one end to the other: what is found with few false ones is found with more."""
    rows = [_point(o) for o in curve]
    if not rows:
        return []
    return [{**rows[0], "found": 0.0}, *rows, {**rows[-1], "false": TICKS[-1]}]


def _point(way: Outcome) -> dict[str, Any]:
    """What lies beyond the axis is drawn at its end."""
    rate = min(max(way.false.per_year, TICKS[0]), TICKS[-1])
    return {"way": way.name, "false": rate, "found": 100.0 * way.found / max(way.faults, 1)}


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
    return as_svg(alt.layer(*layers).properties(width=300, height=300).to_dict())


def heading(text: str) -> alt.TitleParams:
    """A panel's title, over its left edge."""
    return alt.TitleParams(text, anchor="start", fontSize=13, fontWeight="normal", color=style.INK)


def as_svg(specified: dict[str, Any]) -> str:
    """Vega-Lite in the reports' look as an SVG, on white: a page on the web may be dark."""
    config = style.config() | {"background": "white"}
    svg: str = vl_convert.vegalite_to_svg({**specified, "config": config})
    return svg
