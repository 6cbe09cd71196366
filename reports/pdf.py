"""The scan and the digest as PDF, set by typst; the digest a vessel a page, on A4 and on Letter."""

import dataclasses
import json
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING, BinaryIO, Literal

from sevenppb.detect.causes import GENERAL_CAUTION
from sevenppb.reports.charts.section import Drawing
from sevenppb.reports.templates.read import read
from sevenppb.reports.views.digest import DigestPage, DigestView
from sevenppb.reports.views.scan import Row, ScanView, omitted
from sevenppb.reports.views.section import Section

if TYPE_CHECKING:
    import typst

Paper = Literal["a4", "us-letter"]
MOST = 100  # incidents and vessels told of in full: setting a vessel's pages takes 2 MB of memory


def digest_pdf(view: DigestView, drawn: list[list[str]], paper: Paper) -> bytes:
    """`drawn` are each page's charts as SVG."""
    return _made(compiler(view, drawn, paper))


def compiler(view: DigestView, drawn: list[list[str]], paper: Paper) -> "typst.Compiler":
    """The digest, ready to be compiled or queried."""
    return _compiler("digest.typ", _data(view, drawn, paper))


def scan_pdf(
    view: ScanView, drawn: Mapping[str, tuple[Drawing, ...]], paper: Paper
) -> Callable[[BinaryIO], None]:
    """The whole report, of a large fleet its first MOST incidents and as many vessels; `drawn` are each section's
    drawings by its anchor. It is set in a thread, without the interpreter's lock, while other files are written:
    what is returned waits for it and writes it."""
    lead = view.lead
    if max(len(view.sections), len(view.coverage)) > MOST:
        lead += f" This PDF tells of at most {MOST} incidents and {MOST} vessels; scan.html tells of more."
    places = sorted(view.first[:MOST])
    bare = dataclasses.replace(
        view,
        lead=lead,
        rows=(),
        filters=(),
        sections=(),
        coverage=[view.coverage[n] for n in places],
        readings=[view.readings[n] for n in places],
        first=(),
        omitted=omitted(len(places), view.vessels),
    )
    data = {
        **dataclasses.asdict(bare),
        "title": f"{view.fleet}: deaerator scan",
        "paper": paper,
        "caution": GENERAL_CAUTION,
        "rows": [_cells(row) for row in view.rows[:MOST]],
        "sections": [_section(section, drawn[section.anchor]) for section in view.sections[:MOST]],
    }
    pool = ThreadPoolExecutor(1)
    made = pool.submit(_made, _compiler("scan.typ", json.dumps(data)))
    pool.shutdown(wait=False)

    def write(stream: BinaryIO) -> None:
        stream.write(made.result())

    return write


def _cells(row: Row) -> list[str]:
    cells = (
        row.rank,
        row.vessel,
        row.cause,
        row.urgency,
        row.confidence,
        row.size,
        row.onset,
        row.limit,
        row.state,
    )
    return [cell.text for cell in cells]


def _section(section: Section, drawn: tuple[Drawing, ...]) -> dict[str, object]:
    told = dataclasses.asdict(
        dataclasses.replace(section, charts=(), scatter=None, signature=None, projection=None)
    )
    return {**told, "figures": [{"title": one.title, "alt": one.alt, "svg": one.svg} for one in drawn]}


def _compiler(template: str, data: str) -> "typst.Compiler":
    import typst

    return typst.Compiler(
        read(template).encode("utf-8"),
        font_paths=typst.Fonts(include_system_fonts=False),
        sys_inputs={"data": data},
    )


def _made(document: "typst.Compiler") -> bytes:
    """Tagged for screen readers (PDF/UA-1); the same bytes on every run, since fonts are typst's own and there
    is no date."""
    made = document.compile(format="pdf", pdf_standards="ua-1")
    assert isinstance(made, bytes)  # one document gives one PDF
    return made


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
