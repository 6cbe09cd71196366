"""What one residual did: observed dots, expected line, its band, the onset's interval, the first flag."""

from dataclasses import dataclass
from typing import Any, Final

import altair as alt

from sevenppb.reports.charts import style, thin
from sevenppb.reports.views.series import EvidenceChart, Mark

FOOT = 4  # height of an outage's bar


@dataclass(frozen=True)
class Size:
    """The plot's size [px]. The letters keep theirs: in a small plot they are large."""

    width: int
    height: int


USUAL = Size(style.WIDTH, 190)
LARGE_PRINT = Size(290, 125)
_UTC = alt.Scale(type="utc")
_FROM_DATA = alt.Scale(zero=False)
_BREAK: Final = "break-paths-show-path-domains"


@style.unchecked
def specification(chart: EvidenceChart, size: Size = USUAL) -> dict[str, Any]:
    """The chart as layers over one time axis (UTC days) and one axis in the feature's unit.
    The data stand apart from the layers, by name, so that each is written once."""
    days = thin.rows(chart)
    unit = chart.unit or "reading"
    layers = [_band(unit), _expected(unit), _dots(unit)]
    data: dict[str, list[dict[str, Any]]] = {
        "days": days,
        # a line that is broken after every day and has round ends draws each day as a dot, at a tenth of
        # the bytes of a symbol
        "dots": [row for day in days for row in (day, {"day": day["day"], "observed": None})],
    }
    if chart.onset is not None:
        layers.insert(0, _shade())
        data["onset"] = [_stretch(chart.onset)]
    if chart.flagged is not None:
        layers.extend(_mark("flag", 0))
        data["flag"] = [_stretch(chart.flagged)]
    if chart.outages:
        layers[:0] = _outages(size.height)
        data["outages"] = [_stretch(mark) for mark in chart.outages]
    shown = [mark for mark in chart.work if chart.days[0] <= mark.start <= chart.days[-1]]
    if shown:
        layers.extend(_mark("work", size.height))
        data["work"] = [_stretch(mark) for mark in shown]
    if chart.limit is not None:
        layers.extend(_limit(unit))
        data["limit"] = [{"limit": chart.limit, "label": "limit"}]
    return style.specification(layers, data, width=size.width, height=size.height)


def draw(chart: EvidenceChart, name: str, size: Size = USUAL) -> str:
    """The chart as SVG, in print colours."""
    return style.svg(specification(chart, size), name)


def _day(field: str = "day") -> alt.X:
    axis = alt.Axis(grid=False, tickCount=8, labelExpr=style.DAY_LABEL)
    return alt.X(f"{field}:T", scale=_UTC, title=None, axis=axis)


def _value(field: str, unit: str) -> alt.Y:
    return alt.Y(f"{field}:Q", scale=_FROM_DATA, title=unit, axis=style.value_axis())


def _band(unit: str) -> alt.Chart:
    base = alt.Chart(alt.NamedData("days"))
    area = base.mark_area(color=style.EXPECTED, opacity=0.18, invalid=_BREAK)
    drawn: alt.Chart = area.encode(x=_day(), y=_value("low", unit), y2=alt.Y2("high:Q"))
    return drawn


def _expected(unit: str) -> alt.Chart:
    base = alt.Chart(alt.NamedData("days"))
    line = base.mark_line(color=style.EXPECTED, strokeWidth=1.6, strokeDash=[5, 3], invalid=_BREAK)
    drawn: alt.Chart = line.encode(x=_day(), y=_value("expected", unit))
    return drawn


def _dots(unit: str) -> alt.Chart:
    base = alt.Chart(alt.NamedData("dots"))
    line = base.mark_line(color=style.OBSERVED, strokeCap="round", strokeWidth=3.2, invalid=_BREAK)
    drawn: alt.Chart = line.encode(x=_day(), y=_value("observed", unit))
    return drawn


def _shade() -> alt.Chart:
    base = alt.Chart(alt.NamedData("onset"))
    shade = base.mark_rect(color=style.MUTED, opacity=0.22)
    drawn: alt.Chart = shade.encode(x=_day("start"), x2=alt.X2("end:T"))
    return drawn


def _outages(height: int) -> tuple[alt.Chart, alt.Chart]:
    """A pale stretch on a bar at the foot: the onset's shade has no bar."""
    base = alt.Chart(alt.NamedData("outages"))
    pale = base.mark_rect(color=style.GRID, opacity=0.6).encode(x=_day("start"), x2=alt.X2("end:T"))
    bar = base.mark_rect(color=style.MUTED).encode(
        x=_day("start"),
        x2=alt.X2("end:T"),
        y=style.fixed(alt.YValue, height - FOOT),
        y2=style.fixed(alt.Y2Value, height),
    )
    return pale, bar


def _mark(name: str, at: int) -> tuple[alt.Chart, ...]:
    """A dotted line over the day, with its word `at` so many pixels from the top: inside the chart."""
    base = alt.Chart(alt.NamedData(name)).encode(x=_day("start"))
    rule = base.mark_rule(color=style.INK, strokeWidth=1, strokeDash=[1, 2])
    worded = base.encode(text=alt.Text("label:N"), y=style.fixed(alt.YValue, at))
    return rule, *style.word(worded, align="right", baseline="top" if at == 0 else "bottom", dx=-4)


def _limit(unit: str) -> tuple[alt.Chart, ...]:
    base = alt.Chart(alt.NamedData("limit")).encode(y=_value("limit", unit))
    worded = base.encode(text=alt.Text("label:N"), x=style.fixed(alt.XValue, 0))
    rule = base.mark_rule(color=style.INK, strokeWidth=1)
    return rule, *style.word(worded, align="left", baseline="bottom", dx=2, dy=-2)


def _stretch(mark: Mark) -> dict[str, Any]:
    return {"label": mark.label, "start": mark.start, "end": mark.end}
