"""`sevenppb compare`: vessels side by side."""

from pathlib import Path

import click

from sevenppb.reports.cli import options, progress, running


@click.command()
@options.fleet_argument
@options.out_option("compare")
@options.workers_option
@options.display_option
@options.quiet_option
@click.pass_context
def compare(
    ctx: click.Context, fleet: Path, out: Path | None, workers: int | None, display: str | None, quiet: bool
) -> None:
    """Show the vessels of a fleet file side by side.

    \b
    Example:
      sevenppb compare fleet.toml
    """
    from sevenppb.reports import compare_files, write

    described = options.read_fleet(fleet, display)
    folder = out if out is not None else fleet.parent / "compare"
    with progress.shown(quiet=quiet) as show:
        found = running.scan(described, show, workers=workers, out=folder)
        found = running.in_register(found, described)
        write.write_all(folder, compare_files.compare_files(found, described))
    failed = running.tell_failures(found)
    running.tell_place(folder / "compare.html")
    if failed:
        ctx.exit(options.VESSEL_FAILED)
