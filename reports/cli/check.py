"""`sevenppb check`: a look at the readings before any scan."""

from pathlib import Path

import click

from sevenppb.reports.cli import options

LOOK_AGAIN = 1  # exit status


@click.command()
@options.fleet_argument
@click.pass_context
def check(ctx: click.Context, fleet: Path) -> None:
    """Read every export and tell what is there, without a scan.

    Exit status 1 where a vessel can't be read or scanned, or a unit can't be right.

    \b
    Example:
      sevenppb check fleet.toml
    """
    from sevenppb.detect import vessel_scan
    from sevenppb.detect.errors import Fault
    from sevenppb.detect.exports.check import check_vessel
    from sevenppb.detect.fleet import read_fleet
    from sevenppb.reports.check_text import check_text, total_text
    from sevenppb.reports.numbers import Units

    described = read_fleet(fleet)
    unread: list[str] = []
    to_put_right: list[str] = []
    too_little: list[str] = []
    for vessel in described.vessels:
        try:
            found = check_vessel(vessel, described)
            seen = vessel_scan.scan_vessel(vessel, found.readings)
        except Fault as fault:
            click.echo(str(fault), err=True)
            unread.append(vessel.id)
            continue
        units = Units(described.display, vessel.barometer)
        click.echo(check_text(found, seen, units, described.timezone))
        if found.problems:
            to_put_right.append(vessel.id)
        if seen.state != "scanned":
            too_little.append(vessel.id)
    click.echo(total_text(len(described.vessels), to_put_right, too_little, unread))
    if to_put_right or too_little or unread:
        ctx.exit(LOOK_AGAIN)
