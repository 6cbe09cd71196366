"""The command `sevenppb`: parse, call, print, exit. Everything slow is imported inside the commands."""

import gc
import os
import sys
from typing import Any

import click

from sevenppb.detect.errors import Fault
from sevenppb.reports.cli import interrupt
from sevenppb.reports.cli.check import check
from sevenppb.reports.cli.close import close
from sevenppb.reports.cli.compare import compare
from sevenppb.reports.cli.demo import demo
from sevenppb.reports.cli.digest import digest
from sevenppb.reports.cli.draft import draft
from sevenppb.reports.cli.note import note
from sevenppb.reports.cli.prove import prove
from sevenppb.reports.cli.scan import scan

# New objects before garbage is looked for. Loading libraries makes many and no garbage: with Python's own 700, looking
# takes 0.2 s of a scan.
_OBJECTS = 100_000


class _Commands(click.Group):
    """A user's mistake ends in its sentences and exit status 2, Ctrl-C in 130; neither in a traceback."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """In the order in which one needs them."""
        return list(self.commands)

    def invoke(self, ctx: click.Context) -> Any:
        try:
            with interrupt.noticed():
                return super().invoke(ctx)
        except Fault as fault:
            click.echo(str(fault), err=True)
            ctx.exit(2)
        except KeyboardInterrupt as interrupted:
            click.echo("Stopped.", err=True)
            ctx.exit(interrupt.exit_code(interrupted))


@click.group(
    cls=_Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100}
)
@click.version_option(package_name="sevenppb", message="%(package)s %(version)s")
def main() -> None:
    """Finds slow degradation of deaerators in historian exports.

    A first look, with made-up readings: sevenppb demo

    \b
    Exit status: 0 done; 1 a vessel failed; 2 the fleet file or the command is wrong;
    3 an incident is as urgent as --fail-on asks.
    """
    # the matrices are small and the vessels run side by side: threads inside would only contend
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    gc.set_threshold(_OBJECTS)
    for stream in (sys.stdout, sys.stderr):
        # a console or pipe in an old code page shows a question mark for what it lacks, rather than stop
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")


for command in (demo, draft, check, scan, compare, digest, prove, note, close):
    main.add_command(command)


def program() -> None:
    """The command as a process of its own, which ends with it."""
    try:
        main()
    except SystemExit as end:
        interrupt.leave(end.code)
        raise
    finally:
        # The interpreter looks for garbage before it ends, several times over all that libraries made: half a second
        # for memory that is about to go anyway. What is frozen isn't looked at.
        gc.freeze()
