"""Figures: computed values that know which rule entries they were computed from.

An ordinary rule set records nothing. A recording one (`gapwright.rulesets.recording`) notes each
entry that is read while a figure is computed; a figure whose value is read inside another passes
its own entries on. So an explanation is a record of the computation, never written by hand.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import Any, Generic, TypeVar

T = TypeVar("T")
T_co = TypeVar("T_co", covariant=True)


class Recorder:
    """Notes which rule entries the figures of one answer were computed from.

    `shown` maps JSON pointers into the result to the keys of rule entries.
    """

    def __init__(self) -> None:
        self.shown: dict[str, dict[str, None]] = {}
        self._open: list[dict[str, None]] = []
        self._prefix = ""

    def read(self, keys: Iterable[str]) -> None:
        """Note that entries were read for the figure being computed, if there is one."""
        if self._open:
            self._open[-1].update(dict.fromkeys(keys))

    def figure(self, compute: Callable[[], T]) -> Figure[T]:
        """Return what `compute` returns, with the entries that were read meanwhile.

        What figures computed meanwhile read is theirs alone, unless their value is used.
        """
        self._open.append({})
        try:
            value = compute()
        finally:
            reads = self._open.pop()
        return Figure(value, tuple(reads), self)

    def show(self, pointer: str, reads: Iterable[str]) -> None:
        """Note under a pointer into the result which entries the figure there follows from."""
        self.shown.setdefault(self._prefix + pointer, {}).update(dict.fromkeys(reads))

    @contextmanager
    def under(self, pointer: str) -> Iterator[None]:
        """Prefix the pointers of all figures shown inside the block."""
        before, self._prefix = self._prefix, self._prefix + pointer
        try:
            yield
        finally:
            self._prefix = before


class Figure(Generic[T_co]):
    """A computed value, with the keys of the rule entries that were read to compute it."""

    __slots__ = ("_recorder", "_value", "reads")

    def __init__(
        self, value: T_co, reads: tuple[str, ...] = (), recorder: Recorder | None = None
    ) -> None:
        self._value = value
        self.reads = reads
        self._recorder = recorder

    @property
    def value(self) -> T_co:
        """Return the value; the figure being computed depends on what this one read."""
        if self._recorder is not None:
            self._recorder.read(self.reads)
        return self._value


def present(figures: Iterable[Figure[T | None]]) -> Iterator[T]:
    """Yield the values of figures that are not None."""
    return (value for figure in figures if (value := figure.value) is not None)


def depend_on(*figures: Figure[Any]) -> None:
    """Note that the figure being computed also depends on these, though not on their values."""
    for figure in figures:
        _ = figure.value
