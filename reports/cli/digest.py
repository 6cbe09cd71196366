"""`sevenppb digest`: a page a vessel for the week."""

from pathlib import Path

import click

from sevenppb.reports.cli import options, progress, running


@click.command()
@options.fleet_argument
@click.option(
    "--week", metavar="D", help="A day of the week, Monday to Sunday  [default: the last whole one]"
)
@options.out_option("digest")
@options.workers_option
@options.display_option
@options.quiet_option
@click.pass_context
def digest(
    ctx: click.Context,
    fleet: Path,
    week: str | None,
    out: Path | None,
    workers: int | None,
    display: str | None,
    quiet: bool,
) -> None:
    """Write a page a vessel for the week, as HTML, PDF and plain text.

    \b
    Example:
      sevenppb digest fleet.toml --week 2025-09-15
    """
    from sevenppb.detect.errors import Fault
    from sevenppb.reports import digest_files, write
    from sevenppb.reports.views.digest import last_week, week_of

    described = options.read_fleet(fleet, display)
    asked = options.day(week, described.timezone, end=False, option="--week")
    chosen = None if asked is None else week_of(asked, described.timezone)
    folder = out if out is not None else fleet.parent / "digest"
    with progress.shown(quiet=quiet) as show:
        found = running.scan(
            described, show, until=None if chosen is None else chosen[1], workers=workers, out=folder
        )
        found = running.in_register(found, described)
        failed = running.tell_failures(found)
        if chosen is None:
            if found.until is None:
                raise Fault(f"{fleet}: no vessel has a reading, so there is no week to tell of.")
            chosen = last_week(found.until, described.timezone)
        write.write_all(folder, digest_files.digest_files(found, described, chosen))
    running.tell_place(folder / "digest.html")
    if failed:
        ctx.exit(options.VESSEL_FAILED)
