"""A scan's outputs, ready to be written together."""

import functools

from sevenppb.detect import whole_file
from sevenppb.detect.fleet import Fleet
from sevenppb.detect.register.store import Recorded
from sevenppb.detect.settings import Settings
from sevenppb.reports import document, html, pdf, sheet
from sevenppb.reports.charts.section import drawings
from sevenppb.reports.views.scan import scan_view


def scan_files(recorded: Recorded, fleet: Fleet, settings: Settings) -> dict[str, whole_file.Content]:
    """File name → content, or what writes it, but for the register, which is already on disk."""
    scan = recorded.scan
    view = scan_view(recorded, fleet, settings)
    drawn = drawings(view)
    return {
        "incidents.json": document.encoded(scan),
        "incidents.csv": sheet.incidents_csv(scan),
        "daily.parquet": functools.partial(sheet.write_daily, scan),
        "scan.html": html.scan_page(view, drawn),
        "scan.pdf": pdf.scan_pdf(view, drawn, "us-letter" if fleet.display == "us" else "a4"),
    }
