"""Keep what was made of objects that come again, each known again as the object that it is."""

from __future__ import annotations

from collections.abc import Callable
from typing import Generic, TypeVar

V = TypeVar("V")


class Kept(Generic[V]):
    """A function whose results are kept by the identity of its arguments.

    To look at what long tuples hold, as a cache by their content must, can take longer than all
    else in an answer. The arguments are held as long as the result is, so that none of them can
    be mistaken for another object; they must not change. Of more than `most` results all go.
    """

    def __init__(self, make: Callable[..., V], most: int = 512) -> None:
        self._make = make
        self._most = most
        self._results: dict[tuple[int, ...], tuple[tuple[object, ...], V]] = {}

    def __call__(self, *arguments: object) -> V:
        """Return the function's result."""
        key = (*map(id, arguments),)
        kept = self._results.get(key)
        if kept is not None:
            return kept[1]
        made = self._make(*arguments)
        if len(self._results) >= self._most:
            self._results.clear()
        self._results[key] = (arguments, made)
        return made
