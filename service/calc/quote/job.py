"""A job to be quoted, with nothing left open: what was not told has been assumed before."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

import msgspec

from service.calc.layout.lay import LaidPlane
from service.calc.layout.strips import Strips
from service.calc.suitability import Guess


class Area(msgspec.Struct, frozen=True, kw_only=True):
    """One array as thumb rules take it [nm]; `corners` is None where the usual count is taken."""

    name: str
    perimeter_nm: int
    corners: int | None
    penetrations: int
    readings_nm: tuple[int, ...]


class LaidArea(msgspec.Struct, frozen=True, kw_only=True):
    """The arrays of one roof plane, laid out."""

    name: str
    plane: LaidPlane


class Job(msgspec.Struct, frozen=True, kw_only=True):
    """All arrays of a job and how the work is done.

    `facts` decide which bill lines, tasks, surcharges and cautions apply. `wider` takes the strip
    so many stocked widths above the narrowest that covers the clearance. `assumed` names drivers,
    `storeys`, `crew` or `working_day` that were not told, each with a rule that it follows from;
    `guess` is the clearance of the arrays that nobody has measured. `drawn` are the strips of the
    planes that are laid out; `drawn_guess` says that the guess has a say in them. No two arrays are
    called alike.
    """

    areas: tuple[Area, ...]
    laid: tuple[LaidArea, ...]
    planes: int
    facts: Mapping[str, Any]
    roll_nm: int | None
    crew: int
    working_day: Fraction
    wider: int = 0
    assumed: tuple[tuple[str, str], ...] = ()
    guess: Guess | None = None
    drawn: Strips | None = None
    drawn_guess: bool = False
