"""Views that come and go: a page of any length takes room for a few of them."""

import functools
from collections.abc import Callable, Sequence
from typing import TypeVar, overload

Item = TypeVar("Item")
View = TypeVar("View")
_STAY = 100  # the last ones: all of a fleet that is told of twice in full, on the page and as PDF


class Each(Sequence[View]):
    """A view for each of the items, made by `make` when it is asked for."""

    def __init__(self, items: Sequence[Item], make: Callable[[Item], View]) -> None:
        self._places = range(len(items))
        self._made = functools.lru_cache(_STAY)(lambda place: make(items[place]))

    def __len__(self) -> int:
        return len(self._places)

    @overload
    def __getitem__(self, place: int) -> View: ...
    @overload
    def __getitem__(self, place: slice) -> Sequence[View]: ...
    def __getitem__(self, place: int | slice) -> View | Sequence[View]:
        if isinstance(place, slice):
            return [self._made(n) for n in self._places[place]]
        return self._made(self._places[place])
