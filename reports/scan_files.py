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
    """File name → what writes it, but for the register, which is already on disk. Vessels come and go one by one as
    a file is written: a whole fleet's need not fit into memory."""
    scan = recorded.scan
    view = scan_view(recorded, fleet, settings)
    drawn = drawings(view)
    paper: pdf.Paper = "us-letter" if fleet.display == "us" else "a4"
    return {
        "incidents.json": functools.partial(document.write, scan),
        "incidents.csv": sheet.incidents_csv(scan),
        "daily.parquet": functools.partial(sheet.write_daily, scan),
        "scan.html": functools.partial(html.write_scan, view, drawn),
        "scan.pdf": pdf.scan_pdf(view, drawn, paper),  # last: it is being set while the others are written
    }
