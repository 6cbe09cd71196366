"""How far a long command is, on stderr: a bar on a terminal, a few plain lines in a log."""

import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import click

Progress = Callable[[str, int, int], None]
LINES_IN_A_LOG = 10


@contextmanager
def shown(*, quiet: bool) -> Iterator[Progress]:
    """A function (what, done, total) to call as work goes on."""
    if quiet:
        yield lambda what, done, total: None
    # rich takes FORCE_COLOR for a terminal and would fill a log with cursor codes: ask the stream itself
    elif sys.stderr.isatty() and os.environ.get("TERM") != "dumb":
        with _bar() as progress:
            yield progress
    else:
        yield _lines()


@contextmanager
def _bar() -> Iterator[Progress]:
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, TextColumn, TimeElapsedColumn
    from rich.progress import Progress as Bar

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
    with Bar(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=None)

        def progress(what: str, done: int, total: int) -> None:
            # what may hold brackets, which rich would read as its markup
            bar.update(task, description=what.replace("[", r"\["), completed=done, total=total)

        yield progress


def _lines() -> Progress:
    told = -1

    def progress(what: str, done: int, total: int) -> None:
        nonlocal told
        step = done * LINES_IN_A_LOG // max(total, 1)
        if step != told:
            told = step
            click.echo(f"{what}: {done} of {total}", err=True)

    return progress
