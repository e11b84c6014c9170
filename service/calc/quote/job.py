"""A job to be quoted, with nothing left open: what was not given has been assumed before."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

import msgspec

from service.calc.layout.lay import LaidPlane
from service.calc.layout.strips import Strips
from service.rulesets.figures import Figure


class Area(msgspec.Struct, frozen=True, kw_only=True):
    """One array as thumb rules take it [nm]; `corners` is None where the usual count is taken."""

    name: str
    perimeter_nm: Figure[int]
    corners: Figure[int] | None
    penetrations: int
    readings_nm: Figure[tuple[int, ...]]


class LaidArea(msgspec.Struct, frozen=True, kw_only=True):
    """The arrays of one roof plane, laid out."""

    name: str
    plane: LaidPlane


class Job(msgspec.Struct, frozen=True, kw_only=True):
    """All arrays of a job and how the work is done.

    `facts` decide which bill lines, tasks, surcharges and cautions apply; one that was assumed is
    a figure. `wider` takes the strip that many stocked widths above the narrowest that covers the
    clearance. `drawn` are the strips of the planes that are laid out. Array names are unique.
    """

    areas: tuple[Area, ...]
    laid: tuple[LaidArea, ...]
    planes: int
    facts: Mapping[str, Any]
    roll_nm: int | None
    crew: Figure[int]
    working_day: Figure[Fraction]
    wider: int = 0
    drawn: Strips | None = None
