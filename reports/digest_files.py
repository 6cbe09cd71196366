"""A week's digest in every form, all in memory, ready to be written together."""

import pandas as pd

from sevenppb.detect.fleet import Fleet
from sevenppb.detect.incidents.incident import FleetScan
from sevenppb.reports import html, pdf, text
from sevenppb.reports.views.digest import digest_view


def digest_files(scan: FleetScan, fleet: Fleet, week: tuple[pd.Timestamp, pd.Timestamp]) -> dict[str, bytes]:
    """File name → content; `week` is its first and last moment, UTC."""
    view = digest_view(scan, fleet, week)
    return {
        "digest.html": html.digest_page(view),
        "digest.txt": text.digest_text(view).encode("utf-8"),
        "digest-a4.pdf": pdf.digest_pdf(view, "a4"),
        "digest-letter.pdf": pdf.digest_pdf(view, "us-letter"),
    }
