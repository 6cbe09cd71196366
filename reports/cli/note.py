"""`sevenppb note`: a person's words on an incident."""

from pathlib import Path

import click

from sevenppb.reports.cli import options, running


@click.command()
@options.fleet_argument
@click.argument("incident", metavar="ID")
@click.argument("text")
@options.author_option
@options.scans_option
def note(fleet: Path, incident: str, text: str, author: str | None, out: Path | None) -> None:
    """Add a note to an incident, which acknowledges it.

    \b
    Example:
      sevenppb note fleet.toml DA-1/2025-002 "Vent line to be opened at the June outage"
    """
    from sevenppb.detect.fleet import read_fleet
    from sevenppb.detect.register import store

    if not text.strip():
        raise click.BadParameter("A note needs words.", param_hint="TEXT")
    described = read_fleet(fleet)
    place = running.register(described, out)
    state = store.note(place, described.name, incident, text, options.author(author), running.now())
    click.echo(f"{incident}: note added; its state is {state}.")
