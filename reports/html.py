"""View + charts → one HTML file: works offline, everything escaped, a policy that lets nothing else run."""

import base64
import hashlib
import io
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, BinaryIO

from jinja2 import BaseLoader, Environment, StrictUndefined, TemplateNotFound
from markupsafe import Markup

from sevenppb.detect.causes import GENERAL_CAUTION
from sevenppb.reports.charts import fleet, proof, style, zoom
from sevenppb.reports.charts.section import Drawing
from sevenppb.reports.templates.read import read
from sevenppb.reports.views.compare import CompareView
from sevenppb.reports.views.digest import DigestView
from sevenppb.reports.views.proof import ProofView
from sevenppb.reports.views.scan import ScanView
from sevenppb.reports.views.series import EvidenceChart


@dataclass(frozen=True)
class Figure:
    """A drawing with its words; `zoom` is what the page's script needs to draw it over fewer days."""

    title: str
    alt: str
    svg: Markup
    zoom: dict[str, Any] | None = None


class _PackageTemplates(BaseLoader):
    """Templates as package data (a wheel may be a zip)."""

    def get_source(self, environment: Environment, template: str) -> tuple[str, None, None]:
        try:
            return read(template), None, None
        except FileNotFoundError as error:
            raise TemplateNotFound(template) from error


def page(template: str, scripts: tuple[str, ...] = (), **values: Any) -> bytes:
    """`template` rendered with the shared style and the texts of `scripts` inside, allowed by their hashes alone."""
    content = io.BytesIO()
    _write(content, template, scripts, **values)
    return content.getvalue()


def _write(stream: BinaryIO, template: str, scripts: tuple[str, ...] = (), **values: Any) -> None:
    """The page piece by piece: as one text it would take four times its bytes."""
    # select_autoescape would not escape a name that ends in .j2, so escaping is on for everything
    environment = Environment(
        autoescape=True,
        loader=_PackageTemplates(),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.policies["json.dumps_kwargs"] = {"separators": (",", ":")}
    css = read("page.css")
    allowed = " ".join(f"'sha256-{_digest(text)}'" for text in scripts) or "'none'"
    policy = (
        f"default-src 'none'; script-src {allowed}; style-src 'sha256-{_digest(css)}'; "
        "base-uri 'none'; form-action 'none'"
    )
    pieces = environment.get_template(template).stream(
        policy=policy,
        css=Markup(css),
        scripts=tuple(Markup(text) for text in scripts),
        general_caution=GENERAL_CAUTION,
        **values,
    )
    pieces.enable_buffering()
    pieces.dump(stream, encoding="utf-8")


def write_scan(view: ScanView, drawn: Mapping[str, tuple[Drawing, ...]], stream: BinaryIO) -> None:
    """The report for the reliability engineer; `drawn` are each section's drawings by its anchor. A vessel comes and
    goes as the page reaches it."""
    figures = {
        anchor: [Figure(one.title, one.alt, Markup(style.screen(one.svg)), one.zoom) for one in drawings]
        for anchor, drawings in drawn.items()
    }
    scripts = [read("table.js")]
    if any(figure.zoom for found in figures.values() for figure in found):
        scripts += [zoom.library(), read("zoom.js")]
    _write(stream, "scan.html.j2", tuple(scripts), view=view, figures=figures)


def digest_page(view: DigestView, drawn: list[list[str]]) -> bytes:
    """The operator's week, a sheet of paper a vessel; `drawn` are each page's charts as SVG."""
    figures = [_figures(page.charts, svgs) for page, svgs in zip(view.pages, drawn, strict=True)]
    return page("digest.html.j2", view=view, figures=figures)


def compare_page(view: CompareView) -> bytes:
    """Vessels side by side, for the fleet analyst."""
    figures = [
        Figure(panels.title, panels.alt, Markup(style.screen(fleet.draw(panels, f"panels-{n}"))))
        for n, panels in enumerate(view.panels)
    ]
    return page("compare.html.j2", (read("table.js"),), view=view, figures=figures)


def proof_page(view: ProofView) -> bytes:
    """Which faults a scan would find, for the reliability engineer."""
    figures = [
        [
            Figure(chart.title, chart.alt, Markup(style.screen(proof.draw(chart, f"vessel-{n}-{k}"))))
            for k, chart in enumerate(section.charts)
        ]
        for n, section in enumerate(view.sections)
    ]
    return page("proof.html.j2", view=view, figures=figures)


def _figures(charts: Iterable[EvidenceChart], drawn: Iterable[str]) -> list[Figure]:
    return [
        Figure(chart.title, chart.alt, Markup(style.screen(svg)))
        for chart, svg in zip(charts, drawn, strict=True)
    ]


def _digest(text: str) -> str:
    return base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii")
