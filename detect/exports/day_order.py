"""Dates that can be read day first and month first: which order all exports of a vessel settle together."""

import itertools
from collections.abc import Sequence
from dataclasses import replace

from sevenppb.detect.errors import ExportFault
from sevenppb.detect.exports.engine import Engine
from sevenppb.detect.exports.load import Source
from sevenppb.detect.exports.timestamps import Order, TimeForm
from sevenppb.detect.fleet_shape import Dates

_DAY_US = 86_400_000_000


def settled(opened: Sequence[Source], engine: Engine, stated: Dates) -> list[Source]:
    """The exports with one time form each. Where a file can be read in both orders, what decides is: a day after the
    12th in it; else the fleet file (`stated`); else such a day in the vessel's other files; else that one order
    gives days that follow each other, and the other gives days a month apart.

    Raises ExportFault where nothing decides, or where a file settles it against the fleet file."""
    first = by_calendar(opened, engine)
    orders = set(orders_of(first))
    result = []
    for source in first:
        if len(source.times) == 1:
            _uncontradicted(source, stated)
            result.append(source)
            continue
        by_days = _by_sequence(source, engine)
        chosen, why = _of(source, [stated]), "the fleet file says so"
        if not chosen:
            chosen, why = _of(source, list(orders) if len(orders) == 1 else []), "other exports tell"
        if not chosen:
            chosen, why = by_days, "so its days follow each other"
        if not chosen:
            raise ExportFault(
                f"{source.shown}: its dates can be read day first and month first, and nothing in the exports tells "
                'which. State it for the vessel in the fleet file: dates = "day first" or dates = "month first".'
            )
        notes = source.notes
        if stated != "auto" and by_days and by_days != chosen:
            other = by_days[0][0].order
            notes += (
                f'{source.shown}: read with dates = "{stated}", but its days would follow each other {other}.',
            )
        result.append(replace(source, times=tuple(chosen), why=f" ({why})", notes=notes))
    return result


def by_calendar(opened: Sequence[Source], engine: Engine) -> list[Source]:
    """The exports, each with the orders that read as many times as any does."""
    return [_by_calendar(source, engine) for source in opened]


def orders_of(calendared: Sequence[Source]) -> list[Order]:
    """The orders of the exports that settle theirs by themselves."""
    return [s.times[0][0].order for s in calendared if len(s.times) == 1 and s.times[0][0].order is not None]


def _of(source: Source, orders: Sequence[str]) -> list[tuple[TimeForm, str]]:
    return [time for time in source.times if time[0].order in orders]


def _uncontradicted(source: Source, stated: Dates) -> None:
    order = source.times[0][0].order
    if stated != "auto" and order is not None and order != stated:
        raise ExportFault(
            f'{source.shown}: the fleet file says dates = "{stated}", but a date in it can only be read {order}. '
            "Correct dates, or export times like 2025-03-31."
        )


def _by_calendar(source: Source, engine: Engine) -> Source:
    if len(source.times) == 1:
        return source
    counts = engine.row(f"SELECT {', '.join(f'count({e})' for _, e in source.times)} FROM {source.relation}")
    kept = tuple(t for t, count in zip(source.times, counts, strict=True) if count == max(counts))
    return replace(source, times=kept)


def _by_sequence(source: Source, engine: Engine) -> list[tuple[TimeForm, str]]:
    """The order under which the file's days follow each other, if it is one only and the file has three
    days."""
    fits = []
    for time, expression in source.times:
        day = f"{expression} // {_DAY_US}"
        sql = f"SELECT DISTINCT {day} AS d FROM {source.relation} WHERE {expression} IS NOT NULL ORDER BY d"
        days = [row[0] for row in engine.rows(sql)]
        steps = [b - a for a, b in itertools.pairwise(days)]
        if len(days) >= 3 and sorted(steps)[len(steps) // 2] <= 2:
            fits.append((time, expression))
    return fits if len(fits) == 1 else []
