"""`sevenppb demo`: a made-up fleet, scanned."""

from pathlib import Path

import click

from sevenppb.reports.cli import progress, running


@click.command()
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("sevenppb-demo"),
    show_default=True,
    help="Folder for the made-up exports and the reports.",
)
@click.option("--quiet", is_flag=True, help="Show no progress.")
def demo(out: Path, quiet: bool) -> None:
    """Write a made-up fleet's exports, scan them, and say where the reports are.

    \b
    Example:
      sevenppb demo --out sevenppb-demo
    """
    from sevenppb.detect.fleet import read_fleet
    from sevenppb.synthetic.demo import write_demo

    with progress.shown(quiet=quiet) as show:
        fleet = read_fleet(write_demo(out, show))
        folder = out / "scan"
        found = running.scan_into(
            fleet, folder, since=None, until=None, vessels=(), workers=None, progress=show
        )
    click.echo(f"Made up for this demo, no real plant: {fleet.name}, {fleet.path.resolve()}")
    running.tell(found, fleet, folder)
