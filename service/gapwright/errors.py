"""The errors of this package: every fault has a path, a problem, and a remedy."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import takewhile

import msgspec

_LONGEST_NAME = 200


class Fault(msgspec.Struct, frozen=True, kw_only=True):
    """One thing wrong with an input.

    `path` has the field names and list positions from the root down. `problem` says what is wrong,
    and `remedy` how to fix it.
    """

    path: tuple[str | int, ...]
    problem: str
    remedy: str = ""

    @property
    def pointer(self) -> str:
        """Return the path as a JSON Pointer (RFC 6901)."""
        return pointer(self.path)

    @property
    def detail(self) -> str:
        """Return the problem and the remedy as one string."""
        return f"{self.problem} {self.remedy}".rstrip()


class GapwrightError(Exception):
    """Base class of the errors that this package raises."""


class InvalidRequestError(GapwrightError):
    """An input is invalid; `faults` lists everything that is wrong with it."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        super().__init__("; ".join(f"{fault.pointer}: {fault.detail}" for fault in faults))
        self.faults = tuple(faults)


class CrewSheetUnavailableError(InvalidRequestError):
    """No crew may be sent to a job; `faults` gives each reason, and what would change it."""


def pointer(path: Sequence[str | int]) -> str:
    """Return a path as a JSON Pointer (RFC 6901).

    It stops before a field name that is too long to repeat.
    """
    steps = takewhile(lambda step: len(str(step)) <= _LONGEST_NAME, path)
    return "".join(f"/{_escape(step)}" for step in steps)


def _escape(step: str | int) -> str:
    return str(step).replace("~", "~0").replace("/", "~1")
