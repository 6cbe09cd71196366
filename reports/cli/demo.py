"""`sevenppb demo`: a made-up fleet, scanned."""

from pathlib import Path

import click

from sevenppb.reports.cli import options, progress, running


@click.command()
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("sevenppb-demo"),
    show_default=True,
    help="Folder for the made-up exports and the report.",
)
@options.workers_option
@options.quiet_option
def demo(out: Path, workers: int | None, quiet: bool) -> None:
    """Make up a fleet's exports, scan them, say where the report is.

    \b
    Example:
      sevenppb demo --out sevenppb-demo
    """
    from sevenppb.detect.fleet import read_fleet
    from sevenppb.reports.write import WriteFault
    from sevenppb.synthetic.demo import write_demo

    with progress.shown(quiet=quiet) as show:
        show("making up exports", 0, 1)
        try:
            place = write_demo(out)
        except OSError as error:
            raise WriteFault.of(out, error) from error
        fleet = read_fleet(place)
        found = running.scan(fleet, show, workers=workers)
        found = running.write_scan(found, fleet, out / "scan")
    running.tell_failures(found)
    running.tell_incidents(found, fleet)
    click.echo(f"All made up, no real plant; the exports are beside {place.resolve()}")
    running.tell_place(out / "scan" / "scan.html")
