"""One feature over all vessels: a small panel each, on the same axes."""

import json
import textwrap
from typing import Any, Final

import altair as alt

from sevenppb.reports.charts import style
from sevenppb.reports.views.compare import LARGEST, Panels

HEIGHT = 40
LABEL_WIDTH = 92
LETTERS = 12  # that fit beside a panel
_BREAK: Final = "break-paths-show-path-domains"


@style.unchecked
def specification(panels: Panels) -> dict[str, Any]:
    """A row a vessel: its own weekly residual as a filled line about zero, all vessels' median dashed."""
    weeks = [
        {"vessel": series.vessel, "week": week, "own": own, "together": together, "zero": 0}
        for series in panels.series
        for week, own, together in zip(series.weeks, series.own, series.together, strict=True)
    ]
    bounds = alt.Scale(domain=[-LARGEST, LARGEST])
    axis = alt.Axis(values=[-LARGEST / 2, 0, LARGEST / 2], domain=False, ticks=False)
    x = alt.X(
        "week:T",
        scale=alt.Scale(type="utc"),
        title=None,
        axis=alt.Axis(grid=False, tickCount=8, labelExpr=style.DAY_LABEL),
    )
    base = alt.Chart().encode(x=x)
    own = alt.Y("own:Q", scale=bounds, title=None, axis=axis)
    filled = base.mark_area(color=style.OBSERVED, opacity=0.35, invalid=_BREAK).encode(
        y=own, y2=alt.Y2("zero:Q")
    )
    line = base.mark_line(color=style.OBSERVED, strokeWidth=1.2, invalid=_BREAK).encode(y=own)
    together = base.mark_line(
        color=style.EXPECTED, strokeWidth=1.2, strokeDash=[4, 3], invalid=_BREAK
    ).encode(y=alt.Y("together:Q", scale=bounds, title=None))
    layered = alt.layer(filled, line, together).properties(
        width=style.WIDTH + style.VALUE_WIDTH - LABEL_WIDTH - 20, height=HEIGHT
    )
    lines = {series.vessel: _lines(series.vessel) for series in panels.series}
    header = alt.Header(
        title=None,
        labelExpr=f"({json.dumps(lines)})[datum.label]",
        labelAngle=0,
        labelAlign="left",
        labelLimit=LABEL_WIDTH,
        labelFontSize=12,
        labelColor=style.INK,
        labelFont=style.FONT,
    )
    order = [series.vessel for series in panels.series]
    faceted = layered.facet(row=alt.Row("vessel:N", sort=order, header=header), data=alt.NamedData("weeks"))
    specified: dict[str, Any] = faceted.properties(spacing=4).to_dict(validate=False)
    return {**specified, "config": style.config(), "datasets": {"weeks": weeks}}


def _lines(vessel: str) -> list[str]:
    """A vessel's name in the one or two lines that fit beside its panel; of a longer one the middle is left out."""
    lines = textwrap.wrap(vessel, LETTERS)
    return lines if len(lines) <= 2 else [lines[0], f"…{lines[-1]}"]


def draw(panels: Panels, name: str) -> str:
    """The panels as SVG, in print colours."""
    return style.svg(specification(panels), name)
