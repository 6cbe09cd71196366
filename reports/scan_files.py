"""A scan's outputs, all in memory, ready to be written together."""

from sevenppb.detect.fleet import Fleet
from sevenppb.detect.incidents.incident import FleetScan
from sevenppb.detect.settings import Settings
from sevenppb.reports import document, html, sheet
from sevenppb.reports.views.scan import scan_view


def scan_files(scan: FleetScan, fleet: Fleet, settings: Settings) -> dict[str, bytes]:
    """File name → content, as the contract lists them; the register is kept by detect."""
    return {
        "incidents.json": document.encoded(scan),
        "incidents.csv": sheet.incidents_csv(scan),
        "daily.parquet": sheet.daily_parquet(scan),
        "scan.html": html.scan_page(scan_view(scan, fleet, settings)),
    }
