"""What one vessel lends to others: the seasons that its own baseline has seen."""

from dataclasses import dataclass

import pandas as pd


@dataclass(frozen=True, slots=True)
class Effect:
    """Coefficients of the yearly terms, in the order of terms.YEARLY_TERMS, with standard errors [natural moves]."""

    feature: str
    value: tuple[float, ...]
    error: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Lent:
    """What a vessel's own baseline says of its seasons. `known`: the first day by which that was settled: the first
    with readings after the baseline."""

    vessel: str
    known: pd.Timestamp
    effects: tuple[Effect, ...]
