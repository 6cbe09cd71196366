"""An incident's drawings, drawn once for all forms of a report."""

from dataclasses import dataclass
from typing import Any

from sevenppb.reports.charts import evidence, projection, scatter, signature, style, zoom
from sevenppb.reports.views.scan import ScanView
from sevenppb.reports.views.section import Section


@dataclass(frozen=True)
class Drawing:
    """An SVG in print colours with its words; `zoom` is what a page's script needs to draw it over fewer days."""

    title: str
    alt: str
    svg: str
    zoom: dict[str, Any] | None = None


def drawings(view: ScanView) -> dict[str, tuple[Drawing, ...]]:
    """Each section's drawings in reading order, by its anchor."""
    return {section.anchor: tuple(_drawn(section)) for section in view.sections}


def _drawn(section: Section) -> list[Drawing]:
    found = []
    for n, chart in enumerate(section.charts):
        specified = evidence.specification(chart)
        svg = style.svg(specified, f"{section.anchor}-{n}")
        found.append(Drawing(chart.title, chart.alt, svg, zoom.payload(specified)))
    if section.projection is not None:
        svg = projection.draw(section.projection, f"{section.anchor}-projection")
        found.append(Drawing(section.projection.title, section.projection.alt, svg))
    if section.scatter is not None:
        svg = scatter.draw(section.scatter, f"{section.anchor}-scatter")
        found.append(Drawing(section.scatter.title, section.scatter.alt, svg))
    if section.signature is not None:
        svg = signature.draw(section.signature, f"{section.anchor}-signature")
        found.append(Drawing(section.signature.title, section.signature.alt, svg))
    return found
