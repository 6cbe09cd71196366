"""From a fleet file to the scan's folder: what `scan` and `demo` share."""

import os
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING

import click

from sevenppb.reports.cli.progress import Progress

if TYPE_CHECKING:
    import pandas as pd

    from sevenppb.detect.fleet import Fleet
    from sevenppb.detect.incidents.incident import FleetScan

SENTENCES_SHOWN = 5


def scan_into(
    fleet: "Fleet",
    out: Path,
    *,
    since: "pd.Timestamp | None",
    until: "pd.Timestamp | None",
    vessels: tuple[str, ...],
    workers: int | None,
    progress: Progress,
) -> "FleetScan":
    """Scan and write the folder, whole or not at all. Raises Fault."""
    from sevenppb.detect import fleet_scan, settings
    from sevenppb.reports import scan_files, write

    scan = fleet_scan.scan_fleet(
        fleet,
        since=since,
        until=until,
        vessels=vessels,
        workers=workers or os.cpu_count() or 1,
        progress=progress,
        tool=tool(),
    )
    write.write_all(out, scan_files.scan_files(scan, fleet, settings.DEFAULTS))
    return scan


def tool() -> str:
    """The name and version that results carry."""
    return f"sevenppb {version('sevenppb')}"


def tell(scan: "FleetScan", fleet: "Fleet", out: Path) -> None:
    """The result in a few lines: on stdout what was found and where it is, on stderr which vessel failed."""
    from sevenppb.reports import words
    from sevenppb.reports.numbers import Units

    failed = [vessel for vessel in scan.vessels if vessel.state != "scanned"]
    for vessel in failed:
        click.echo(vessel.error or f"{vessel.id}: {vessel.state}", err=True)
    click.echo(words.lead(scan.incidents, len(scan.vessels) - len(failed), len(failed)))
    units = {row.id: Units(fleet.display, row.barometer) for row in fleet.vessels}
    for incident in scan.incidents[:SENTENCES_SHOWN]:
        click.echo(f"{incident.rank}. {words.sentence(incident, units[incident.vessel], scan.until)}")
    if len(scan.incidents) > SENTENCES_SHOWN:
        click.echo(f"and {len(scan.incidents) - SENTENCES_SHOWN} more in the report")
    click.echo(f"Report: {(out / 'scan.html').resolve()}")
