"""The one error family: every fault names its place, the problem and the remedy."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import takewhile

import msgspec

_LONGEST_NAME = 200


class Fault(msgspec.Struct, frozen=True, kw_only=True):
    """One thing wrong with an input.

    `path` leads to it: member names and list positions from the root down.
    `problem` says what is wrong, `remedy` what to write instead.
    """

    path: tuple[str | int, ...]
    problem: str
    remedy: str = ""

    @property
    def pointer(self) -> str:
        """Return the place as a JSON pointer (RFC 6901)."""
        return pointer(self.path)

    @property
    def detail(self) -> str:
        """Return problem and remedy as one text."""
        return f"{self.problem} {self.remedy}".rstrip()


class GapwrightError(Exception):
    """Base of every error that this project raises on purpose."""


class BadInputError(GapwrightError):
    """An input cannot be used; `faults` lists everything that is wrong with it."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        super().__init__("; ".join(f"{fault.pointer}: {fault.detail}" for fault in faults))
        self.faults = tuple(faults)


class NoCrewSheetError(BadInputError):
    """No crew may be sent to a job; `faults` gives each reason, and what would change it."""


def pointer(path: Sequence[str | int]) -> str:
    """Return a path as a JSON pointer (RFC 6901).

    It ends before a member whose name is too long to repeat.
    """
    steps = takewhile(lambda step: len(str(step)) <= _LONGEST_NAME, path)
    return "".join(f"/{_escape(step)}" for step in steps)


def _escape(step: str | int) -> str:
    return str(step).replace("~", "~0").replace("/", "~1")
