"""The digest as PDF, set by typst: a vessel a page, on A4 and on Letter."""

import dataclasses
import json
from typing import TYPE_CHECKING, Literal

from sevenppb.detect.causes import GENERAL_CAUTION
from sevenppb.reports.templates.read import read
from sevenppb.reports.views.digest import DigestPage, DigestView

if TYPE_CHECKING:
    import typst

Paper = Literal["a4", "us-letter"]


def digest_pdf(view: DigestView, drawn: list[list[str]], paper: Paper) -> bytes:
    """`drawn` are each page's charts as SVG. Tagged for screen readers (PDF/UA-1); the same bytes on every
    run, since fonts are typst's own and there is no date."""
    made = compiler(view, drawn, paper).compile(format="pdf", pdf_standards="ua-1")
    assert isinstance(made, bytes)  # one document gives one PDF
    return made


def compiler(view: DigestView, drawn: list[list[str]], paper: Paper) -> "typst.Compiler":
    """The document, ready to be compiled or queried."""
    import typst

    return typst.Compiler(
        read("digest.typ").encode("utf-8"),
        font_paths=typst.Fonts(include_system_fonts=False),
        sys_inputs={"data": _data(view, drawn, paper)},
    )


def _data(view: DigestView, drawn: list[list[str]], paper: Paper) -> str:
    return json.dumps(
        {
            "title": f"{view.fleet}: deaerators in the week {view.week}",
            "paper": paper,
            "fleet": view.fleet,
            "week": view.week,
            "tool": view.tool,
            "caution": GENERAL_CAUTION,
            "pages": [_page(page, svgs) for page, svgs in zip(view.pages, drawn, strict=True)],
        }
    )


def _page(page: DigestPage, svgs: list[str]) -> dict[str, object]:
    charts = [
        {"title": chart.title, "alt": chart.alt, "svg": svg}
        for chart, svg in zip(page.charts, svgs, strict=True)
    ]
    return {**dataclasses.asdict(dataclasses.replace(page, charts=())), "charts": charts}
