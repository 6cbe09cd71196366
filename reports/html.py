"""View + charts → one HTML file: works offline, everything escaped, a policy that lets nothing else run."""

import base64
import hashlib
from dataclasses import dataclass
from importlib.resources import files
from typing import Any

from jinja2 import BaseLoader, Environment, StrictUndefined, TemplateNotFound
from markupsafe import Markup

from sevenppb.detect.causes import GENERAL_CAUTION
from sevenppb.reports.charts import evidence, signature, style
from sevenppb.reports.views.scan import ScanView
from sevenppb.reports.views.section import Section


@dataclass(frozen=True)
class Figure:
    """A drawing with its words."""

    title: str
    alt: str
    svg: Markup


class _PackageTemplates(BaseLoader):
    """Templates as package data (a wheel may be a zip)."""

    def get_source(self, environment: Environment, template: str) -> tuple[str, None, None]:
        try:
            return read(template), None, None
        except FileNotFoundError as error:
            raise TemplateNotFound(template) from error


def read(name: str) -> str:
    """A file of the templates folder."""
    return files("sevenppb.reports.templates").joinpath(name).read_text(encoding="utf-8")


def page(template: str, script: str, **values: Any) -> bytes:
    """Render `template` with the shared style and `script` inside, allowed by their hashes alone."""
    # select_autoescape would not escape a name that ends in .j2, so escaping is on for everything
    environment = Environment(
        autoescape=True,
        loader=_PackageTemplates(),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    css, js = read("page.css"), read(script)
    policy = (
        f"default-src 'none'; script-src 'sha256-{_digest(js)}'; style-src 'sha256-{_digest(css)}'; "
        "img-src data:; base-uri 'none'; form-action 'none'"
    )
    text = environment.get_template(template).render(
        policy=policy, css=Markup(css), js=Markup(js), general_caution=GENERAL_CAUTION, **values
    )
    return text.encode("utf-8")


def scan_page(view: ScanView) -> bytes:
    """The report for the reliability engineer."""
    figures = {section.anchor: section_figures(section) for section in view.sections}
    return page("scan.html.j2", "table.js", view=view, figures=figures)


def section_figures(section: Section) -> list[Figure]:
    """An incident's drawings in reading order."""
    found = [
        Figure(
            chart.title,
            chart.alt,
            Markup(style.screen(evidence.draw(chart, f"{section.anchor}-{n}"))),
        )
        for n, chart in enumerate(section.charts)
    ]
    if section.signature is not None:
        drawn = signature.draw(section.signature, f"{section.anchor}-signature")
        found.append(Figure(section.signature.title, section.signature.alt, Markup(style.screen(drawn))))
    return found


def _digest(text: str) -> str:
    return base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii")
