"""`sevenppb scan`: the quarterly scan."""

import re
from pathlib import Path

import click

from sevenppb.reports.cli import options, progress, running

URGENT = 3  # exit status


@click.command()
@options.fleet_argument
@click.option("--since", metavar="D", help="Use no reading before this day, such as 2025-01-01.")
@click.option("--until", metavar="D", help="Use no reading after this day, in any step.")
@click.option("--vessel", "vessels", metavar="ID", multiple=True, help="Only this vessel; may be repeated.")
@options.out_option(running.SCANS)
@options.workers_option
@click.option(
    "--cluster", metavar="ADDRESS", help="Scan on a dask cluster: its scheduler, such as tcp://host:8786."
)
@options.display_option
@click.option("--fail-on", metavar="urgency>=X", help="Exit with 3 where an incident is that urgent.")
@options.quiet_option
@click.pass_context
def scan(
    ctx: click.Context,
    fleet: Path,
    since: str | None,
    until: str | None,
    vessels: tuple[str, ...],
    out: Path | None,
    workers: int | None,
    cluster: str | None,
    display: str | None,
    fail_on: str | None,
    quiet: bool,
) -> None:
    """Scan the vessels of a fleet file and rank what has changed.

    \b
    Example:
      sevenppb scan fleet.toml --until 2025-09-30 --fail-on "urgency>=0.5"
    """
    if cluster is not None and workers is not None:
        raise click.UsageError("--workers is for this machine and --cluster for others. Give one of them.")
    urgent = None if fail_on is None else threshold(fail_on)
    described = options.read_fleet(fleet, display)
    first = options.day(since, described.timezone, end=False, option="--since")
    last = options.day(until, described.timezone, end=True, option="--until")
    folder = out if out is not None else fleet.parent / running.SCANS
    with progress.shown(quiet=quiet) as show:
        found = running.scan(
            described,
            show,
            since=first,
            until=last,
            vessels=vessels,
            workers=workers,
            cluster=cluster,
            out=folder,
        )
        found = running.write_scan(found, described, folder)
    failed = running.tell_failures(found)
    running.tell_incidents(found, described)
    running.tell_place(folder / "scan.html")
    if urgent is not None and any(row.urgency >= urgent and row.state != "closed" for row in found.incidents):
        ctx.exit(URGENT)
    if failed:
        ctx.exit(options.VESSEL_FAILED)


def threshold(text: str) -> float:
    """The X of "urgency>=X"."""
    parts = re.fullmatch(r"\s*urgency\s*>=\s*(0?\.\d+|[01](?:\.\d*)?)\s*", text)
    if parts is None or float(parts[1]) > 1:
        raise click.BadParameter(
            f'"{text}" is not a condition here. Write it like "urgency>=0.5", with a number from 0 to 1.',
            param_hint="--fail-on",
        )
    return float(parts[1])
