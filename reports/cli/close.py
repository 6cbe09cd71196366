"""`sevenppb close`: an incident is done with."""

from pathlib import Path

import click

from sevenppb.reports.cli import options, running


@click.command()
@options.fleet_argument
@click.argument("incident", metavar="ID")
@options.author_option
@options.scans_option
def close(fleet: Path, incident: str, author: str | None, out: Path | None) -> None:
    """Close an incident in the register: later scans leave it closed.

    The same fault with an onset after the closing is a new incident.

    \b
    Example:
      sevenppb close fleet.toml DA-1/2025-002
    """
    from sevenppb.detect.fleet import read_fleet
    from sevenppb.detect.register import store

    described = read_fleet(fleet)
    place = running.register(described, out)
    store.close(place, described.name, incident, options.author(author), running.now())
    click.echo(f"{incident} is closed.")
