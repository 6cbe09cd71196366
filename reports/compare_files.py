"""A comparison in every form, all in memory, ready to be written together."""

from sevenppb.detect.fleet import Fleet
from sevenppb.detect.incidents.incident import FleetScan
from sevenppb.reports import html, sheet
from sevenppb.reports.views.compare import compare_view
from sevenppb.reports.views.comparison import compared


def compare_files(scan: FleetScan, fleet: Fleet) -> dict[str, bytes]:
    """File name → content."""
    table = compared(scan, fleet)
    return {
        "compare.html": html.compare_page(compare_view(scan, fleet, table)),
        "compare.csv": sheet.compare_csv(table),
        "compare.parquet": sheet.compare_parquet(table),
    }
