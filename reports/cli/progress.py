"""How far a long command is, on stderr: a bar on a terminal, a few plain lines in a log."""

import os
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import click

Progress = Callable[[str, int, int], None]
LINES_IN_A_LOG = 10
WORTH_TELLING = 30.0  # seconds left


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
    from rich.progress import BarColumn, MofNCompleteColumn, TextColumn, TimeRemainingColumn
    from rich.progress import Progress as Bar

    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeRemainingColumn(elapsed_when_finished=True),
    )
    with Bar(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=None)

        def progress(what: str, done: int, total: int) -> None:
            # what may hold brackets, which rich would read as its markup
            bar.update(task, description=what.replace("[", r"\["), completed=done, total=total)

        yield progress


def _lines() -> Progress:
    told = -1
    start = time.monotonic()

    def progress(what: str, done: int, total: int) -> None:
        nonlocal told
        step = done * LINES_IN_A_LOG // max(total, 1)
        if step != told:
            told = step
            far = (
                f": {done} of {total}{_left(time.monotonic() - start, done, total)}"
                if done or total > 1
                else ""
            )
            click.echo(f"{what}{far}", err=True)

    return progress


def _left(elapsed: float, done: int, total: int) -> str:
    """The time left [s] at the pace so far, where it is worth a word: ", about 12 min left"."""
    if not done or (left := elapsed / done * (total - done)) < WORTH_TELLING:
        return ""
    return f", about {left / 60:.0f} min left" if left < 90 * 60 else f", about {left / 3600:.0f} h left"
