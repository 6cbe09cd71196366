"""What the commands that scan share: from a fleet file to a recorded scan, and what is said about it."""

import os
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING

import click

from sevenppb.reports.cli import interrupt
from sevenppb.reports.cli.progress import Progress

if TYPE_CHECKING:
    import pandas as pd

    from sevenppb.detect.fleet import Fleet
    from sevenppb.detect.incidents.incident import FleetScan

SENTENCES_SHOWN = 5
SCANS = "scan"  # the folder, beside the fleet file, of the scans that are told no other
KEPT = "cache"  # the folder, in that of the outputs, of results by vessel


def scan(
    fleet: "Fleet",
    progress: Progress,
    *,
    since: "pd.Timestamp | None" = None,
    until: "pd.Timestamp | None" = None,
    vessels: tuple[str, ...] = (),
    workers: int | None = None,
    cluster: str | None = None,
    out: Path | None = None,
) -> "FleetScan":
    """Scan with one process a processor, or `workers`, or on a cluster. With `out`, results are kept there as
    vessels finish, and those that still hold are taken from there. Raises Fault."""
    from sevenppb.detect import fleet_scan
    from sevenppb.reports import write

    done = 0

    def show(what: str, count: int, total: int) -> None:
        nonlocal done
        stop_if_told()  # before this vessel counts: what ended it may have been the interrupt
        done = count
        progress(what, count, total)

    if out is not None:
        write.make_folder(out, probe=True)
    try:
        with interrupt.noticed() as stop_if_told:
            return fleet_scan.scan(
                fleet,
                since=since,
                until=until,
                vessels=vessels,
                workers=workers or os.cpu_count() or 1,
                cluster=cluster,
                keep=None if out is None else out / KEPT,
                progress=show,
                tool=f"sevenppb {version('sevenppb')}",
            )
    except KeyboardInterrupt as interrupted:
        raise Interrupted(interrupted, done, kept=out is not None) from None
    except OSError as error:
        if out is None:
            raise
        raise write.WriteFault.of(out, error) from error


class Interrupted(click.ClickException):
    """Ctrl-C, or a request to end: what is done by then, and that it is not lost."""

    def __init__(self, interrupted: KeyboardInterrupt, done: int, *, kept: bool) -> None:
        self.exit_code = interrupt.exit_code(interrupted)  # type: ignore[misc]  # click has one a class
        again = " Results so far are kept: the same command goes on from there." if kept and done else ""
        super().__init__(f"Stopped with {done} vessels done; no report is written.{again}")


def write_scan(found: "FleetScan", fleet: "Fleet", out: Path) -> "FleetScan":
    """Enter the scan into its register, then write the other files, whole or not at all; the scan with the
    register's ids and states. Raises Fault."""
    from sevenppb.detect.register import store
    from sevenppb.detect.settings import DEFAULTS
    from sevenppb.reports import scan_files, write

    place = register(fleet, out)
    write.make_folder(out)
    write.make_folder(place.parent)
    recorded = store.record(place, found, fleet, now())
    write.write_all(out, scan_files.scan_files(recorded, fleet, DEFAULTS))
    return recorded.scan


def in_register(found: "FleetScan", fleet: "Fleet") -> "FleetScan":
    """The scan with the ids and states of the register that scans keep, which stays as it is. Raises Fault."""
    from sevenppb.detect.register import store

    return store.looked_up(register(fleet), found)


def register(fleet: "Fleet", scans: Path | None = None) -> Path:
    """Where incidents are kept: where the fleet file says, otherwise in the folder of the scans."""
    from sevenppb.detect.register import store

    return fleet.register or (scans or fleet.path.parent / SCANS) / store.NAME


def now() -> "pd.Timestamp":
    """The clock, read only here."""
    import pandas as pd

    return pd.Timestamp.now("UTC")


def tell_failures(found: "FleetScan") -> bool:
    """On stderr, why a vessel was not scanned; whether one failed."""
    for vessel in found.vessels:
        if vessel.state != "scanned":
            click.echo(vessel.error or f"{vessel.id}: {vessel.state}", err=True)
    return any(vessel.state == "failed" for vessel in found.vessels)


def tell_incidents(found: "FleetScan", fleet: "Fleet") -> None:
    """On stdout, the first few incidents, a sentence each."""
    from sevenppb.reports import words
    from sevenppb.reports.numbers import Units

    scanned = sum(vessel.state == "scanned" for vessel in found.vessels)
    units = {row.id: Units(fleet.display, row.barometer) for row in fleet.vessels}
    click.echo(words.lead(found.incidents, scanned, len(found.vessels) - scanned, units))
    for incident in found.incidents[:SENTENCES_SHOWN]:
        click.echo(f"{incident.rank}. {words.sentence(incident, units[incident.vessel], found.until)}")
    if len(found.incidents) > SENTENCES_SHOWN:
        click.echo(f"and {len(found.incidents) - SENTENCES_SHOWN} more in the report")


def tell_place(path: Path) -> None:
    """On stdout, where the report is."""
    click.echo(f"Report: {path.resolve()}")
