"""`sevenppb scan`: the quarterly scan."""

import re
from pathlib import Path
from typing import TYPE_CHECKING

import click

from sevenppb.reports.cli import progress, running

if TYPE_CHECKING:
    import pandas as pd

VESSEL_FAILED = 1
URGENT = 3


@click.command()
@click.argument("fleet", type=click.Path(path_type=Path))
@click.option("--since", metavar="D", help="Use no reading before this day, such as 2025-01-01.")
@click.option("--until", metavar="D", help="Use no reading after this day, in any step.")
@click.option("--vessel", "vessels", metavar="ID", multiple=True, help="Only this vessel; may be repeated.")
@click.option(
    "--out", type=click.Path(path_type=Path), help="Folder for the results  [default: scan, beside FLEET]"
)
@click.option("--workers", type=click.IntRange(min=1), help="Processes  [default: one a processor]")
@click.option("--fail-on", metavar="urgency>=X", help="Exit with 3 where an open incident is that urgent.")
@click.option("--quiet", is_flag=True, help="Show no progress.")
@click.pass_context
def scan(
    ctx: click.Context,
    fleet: Path,
    since: str | None,
    until: str | None,
    vessels: tuple[str, ...],
    out: Path | None,
    workers: int | None,
    fail_on: str | None,
    quiet: bool,
) -> None:
    """Scan the vessels of a fleet file and rank what has changed.

    \b
    Example:
      sevenppb scan fleet.toml --until 2025-09-30 --fail-on "urgency>=0.5"
    """
    from sevenppb.detect.fleet import read_fleet

    urgent = None if fail_on is None else threshold(fail_on)
    described = read_fleet(fleet)
    folder = out if out is not None else fleet.parent / "scan"
    with progress.shown(quiet=quiet) as show:
        found = running.scan_into(
            described,
            folder,
            since=day(since, described.timezone, end=False, option="--since"),
            until=day(until, described.timezone, end=True, option="--until"),
            vessels=vessels,
            workers=workers,
            progress=show,
        )
    running.tell(found, described, folder)
    if urgent is not None and any(row.urgency >= urgent and row.state != "closed" for row in found.incidents):
        ctx.exit(URGENT)
    if any(vessel.state == "failed" for vessel in found.vessels):
        ctx.exit(VESSEL_FAILED)


def threshold(text: str) -> float:
    """The X of "urgency>=X"."""
    parts = re.fullmatch(r"\s*urgency\s*>=\s*(0?\.\d+|[01](?:\.\d*)?)\s*", text)
    if parts is None or float(parts[1]) > 1:
        raise click.BadParameter(
            f'"{text}" is not a condition here. Write it like "urgency>=0.5", with a number from 0 to 1.',
            param_hint="--fail-on",
        )
    return float(parts[1])


def day(text: str | None, timezone: str, *, end: bool, option: str) -> "pd.Timestamp | None":
    """A day in the fleet's timezone → UTC: its first moment, or with `end` its last."""
    if text is None:
        return None
    import pandas as pd

    if re.fullmatch(r"\d{4}-\d{2}-\d{2}", text):
        try:
            start = pd.Timestamp(text)
        except ValueError:
            pass
        else:
            if end:
                start += pd.Timedelta(days=1) - pd.Timedelta(microseconds=1)
            local = start.tz_localize(timezone, ambiguous=not end, nonexistent="shift_forward")
            return local.tz_convert("UTC")
    raise click.BadParameter(f'"{text}" is not a day. Write it like 2025-09-30.', param_hint=option)
