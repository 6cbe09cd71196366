"""Arguments and options that several commands share."""

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    import pandas as pd

    from sevenppb.detect.fleet import Fleet

VESSEL_FAILED = 1  # exit status

fleet_argument = click.argument("fleet", type=click.Path(path_type=Path))
quiet_option = click.option("--quiet", is_flag=True, help="Show no progress.")
workers_option = click.option(
    "--workers", type=click.IntRange(min=1), help="Processes  [default: one a processor]"
)

display_option = click.option(
    "--display", type=click.Choice(["si", "us"]), help="Units in the reports  [default: the fleet file's]"
)


def read_fleet(path: Path, display: Any = None) -> "Fleet":
    """The fleet file's fleet, its reports in the units asked for."""
    from sevenppb.detect import fleet

    described = fleet.read_fleet(path)
    return described if display is None else replace(described, display=display)


def out_option(folder: str) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """--out, by default `folder` beside the fleet file."""
    return click.option(
        "--out",
        type=click.Path(path_type=Path),
        help=f"Folder for the results  [default: {folder}, beside FLEET]",
    )


scans_option = click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="Folder of the scans, whose register it is  [default: the fleet file's register, or scan, beside FLEET]",
)

author_option = click.option("--author", metavar="NAME", help="Who says so  [default: who is logged in]")


def author(name: str | None) -> str:
    """The name given, or that of the account."""
    if name is not None:
        return name
    import getpass

    try:
        return getpass.getuser()
    except (ImportError, KeyError, OSError):  # an account without a name, as in a container
        return "unknown"


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
