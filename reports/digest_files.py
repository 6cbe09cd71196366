"""A week's digest in every form, all in memory, ready to be written together."""

import pandas as pd

from sevenppb.detect.fleet import Fleet
from sevenppb.detect.incidents.incident import FleetScan
from sevenppb.reports import html, pdf, text
from sevenppb.reports.charts import evidence
from sevenppb.reports.views.digest import DigestView, digest_view


def digest_files(scan: FleetScan, fleet: Fleet, week: tuple[pd.Timestamp, pd.Timestamp]) -> dict[str, bytes]:
    """File name → content; `week` is its first and last moment, UTC."""
    view = digest_view(scan, fleet, week)
    drawn = drawings(view)
    return {
        "digest.html": html.digest_page(view, drawn),
        "digest.txt": text.digest_text(view).encode("utf-8"),
        "digest-a4.pdf": pdf.digest_pdf(view, drawn, "a4"),
        "digest-letter.pdf": pdf.digest_pdf(view, drawn, "us-letter"),
    }


def drawings(view: DigestView) -> list[list[str]]:
    """A page's charts as SVG in print colours, drawn once for all forms."""
    return [
        [evidence.draw(chart, f"page-{n}-{k}", evidence.LARGE_PRINT) for k, chart in enumerate(page.charts)]
        for n, page in enumerate(view.pages)
    ]
