"""Cells of tables that sort."""

import math
from dataclasses import dataclass

NOTHING = -1e300  # sorts before any number; a browser knows no "-inf"


@dataclass(frozen=True)
class Cell:
    """A table cell: what is shown, and what it sorts by."""

    text: str
    key: float | str


def word(text: str) -> Cell:
    """Sorts as it reads."""
    return Cell(text, text)


def figure(text: str, value: float | None) -> Cell:
    """Sorts by the number behind it; none sorts first."""
    known = value is not None and math.isfinite(value)
    return Cell(text, float(f"{value:.6g}") if known else NOTHING)
