"""The look of every chart, and the way from a specification to an SVG that a page can hold.

Colours are written as they print; `screen` turns them into the page's CSS variables, so one drawing serves
light, dark and paper. Meaning is never by colour alone: observed are dots, expected a dashed line.
"""

import re
from collections.abc import Iterable
from typing import Any

import altair as alt
from altair.utils import schemapi

OBSERVED = "#0072B2"
EXPECTED = "#B34700"
INK = "#1B1B1B"
MUTED = "#595959"
GRID = "#E3E3E3"
PAPER = "#FFFFFF"
# The library's own check of every part takes twice as long as drawing. Specifications are code: a test checks each.
unchecked = schemapi.debug_mode(False)
_VARIABLES = {
    OBSERVED: "observed",
    EXPECTED: "expected",
    INK: "ink",
    MUTED: "muted",
    GRID: "grid",
    PAPER: "paper",
}
WIDTH = 372
VALUE_WIDTH = 46
FONT = "sans-serif"
# short enough for a phone: years at their start and on the first tick, months, and days only where the span is short
DAY_LABEL = (
    "utcFormat(datum.value, utcdate(datum.value) == 1 && utcmonth(datum.value) == 0 ? '%Y' : "
    "(utcdate(datum.value) == 1 ? '%b' : '%-d %b') + (datum.index == 0 ? ' %Y' : ''))"
)
# thousands are parted as in the tables
_NUMBERS = {"decimal": ".", "thousands": "\u202f", "grouping": [3], "currency": ["", ""]}


def config() -> dict[str, Any]:
    """The shared part of every specification."""
    axis = {
        "labelColor": MUTED,
        "titleColor": MUTED,
        "titleFontWeight": "normal",
        "labelFontSize": 12,
        "titleFontSize": 12,
        "gridColor": GRID,
        "domainColor": MUTED,
        "tickColor": MUTED,
        "tickSize": 4,
        "labelFont": FONT,
        "titleFont": FONT,
        "labelFlush": True,
        "labelOverlap": "greedy",
        "labelSeparation": 6,
    }
    return {
        "background": None,
        "axis": axis,
        "view": {"stroke": None},
        "locale": {"number": _NUMBERS},
        "text": {"font": FONT, "fontSize": 12, "fill": MUTED},
        "aria": False,
        "padding": 4,
    }


def value_axis() -> alt.Axis:
    """The upright axis: its unit stands over it, where it costs no width on a phone."""
    return alt.Axis(
        tickCount=5,
        minExtent=VALUE_WIDTH,
        titleAngle=0,
        titleAlign="left",
        titleX=-VALUE_WIDTH,
        titleY=-10,
    )


def fixed(channel: Any, pixels: float) -> Any:
    """A channel at a place of the drawing; alt.value would first look for it in the whole schema."""
    return channel(pixels)


def word(base: alt.Chart, **placed: Any) -> tuple[alt.Chart, alt.Chart]:
    """A word in a chart, where `placed` says, on a rim of paper: dots and lines don't run through it."""
    rim = base.mark_text(**placed, fill=PAPER, stroke=PAPER, strokeWidth=3, strokeJoin="round")
    return rim, base.mark_text(**placed, fill=INK)


def specification(
    layers: Iterable[alt.Chart], data: dict[str, list[dict[str, Any]]], *, width: int, height: int
) -> dict[str, Any]:
    """The layers' Vega-Lite with the shared look and the data, which layers name by `alt.NamedData`."""
    drawn = [layer.to_dict(validate=False, context={"top_level": False}) for layer in layers]
    # put together here: layers without selections have nothing that the library's own way would have to sort out
    whole = {"$schema": alt.SCHEMA_URL, "width": width, "height": height, "layer": drawn}
    return {**whole, "config": config(), "datasets": data}


def svg(specified: dict[str, Any], name: str) -> str:
    """The drawing as an SVG without ids of other drawings, or roles inside. `name` makes its ids unique
    in a page. The page describes it: it carries no text alternative of its own."""
    import vl_convert

    drawn: str = vl_convert.vegalite_to_svg(specified)
    drawn = re.sub(r' (?:role|aria-[a-z]+|pointer-events|class|version|xmlns:xlink)="[^"]*"', "", drawn)
    drawn = re.sub(r'\bid="([^"]+)"', rf'id="{name}-\1"', drawn)
    drawn = re.sub(r"url\(#([^)]+)\)", rf"url(#{name}-\1)", drawn)
    drawn = re.sub(r'<path d="[^"]*"[^>]* display="none"[^>]*/>', "", drawn)
    return re.sub(r"-?\d+\.\d{2,}", lambda found: f"{float(found[0]):.1f}".rstrip("0").rstrip("."), drawn)


def screen(drawn: str) -> str:
    """Print colours → the page's variables."""
    for colour, name in _VARIABLES.items():
        drawn = re.sub(re.escape(f'"{colour}"'), f'"var(--{name},{colour})"', drawn, flags=re.IGNORECASE)
    return drawn
