"""The digest as PDF, set by typst: a vessel a page, on A4 and on Letter."""

import dataclasses
import json
from typing import TYPE_CHECKING, Literal

from sevenppb.detect.causes import GENERAL_CAUTION
from sevenppb.reports.charts import evidence
from sevenppb.reports.templates.read import read
from sevenppb.reports.views.digest import DigestPage, DigestView

if TYPE_CHECKING:
    import typst

Paper = Literal["a4", "us-letter"]


def digest_pdf(view: DigestView, paper: Paper) -> bytes:
    """Tagged for screen readers (PDF/UA-1), the same bytes on every run: fonts are typst's own, no date."""
    made = compiler(view, paper).compile(format="pdf", pdf_standards="ua-1")
    assert isinstance(made, bytes)  # one document gives one PDF
    return made


def compiler(view: DigestView, paper: Paper) -> "typst.Compiler":
    """The document, ready to be compiled or queried."""
    import typst

    return typst.Compiler(
        read("digest.typ").encode("utf-8"),
        font_paths=typst.Fonts(include_system_fonts=False),
        sys_inputs={"data": _data(view, paper)},
    )


def _data(view: DigestView, paper: Paper) -> str:
    return json.dumps(
        {
            "title": f"{view.fleet}: deaerators in the week {view.week}",
            "paper": paper,
            "fleet": view.fleet,
            "week": view.week,
            "tool": view.tool,
            "caution": GENERAL_CAUTION,
            "pages": [_page(page) for page in view.pages],
        }
    )


def _page(page: DigestPage) -> dict[str, object]:
    drawn = [
        {"title": chart.title, "alt": chart.alt, "svg": evidence.draw(chart, f"chart-{n}")}
        for n, chart in enumerate(page.charts)
    ]
    return {**dataclasses.asdict(page), "charts": drawn}
