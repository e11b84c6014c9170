"""Facts of one roof plane as the caller gave them, lengths in nanometers.

Axes lie on the roof plane: x along the eave, y up the slope.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Literal

import msgspec

from gapwright.calc.outline import DrawnShape, Facing, Module, Spot
from gapwright.facts import Attachment
from gapwright.rulesets.figures import Figure


class Rail(msgspec.Struct, frozen=True, kw_only=True):
    """A rail as it lies on the roof, from end to end [nm]."""

    start: Spot
    end: Spot

    @property
    def upright(self) -> bool:
        """Return whether the rail runs up the slope rather than along it, and so faces sideways."""
        (x, y), (u, v) = self.start, self.end
        return abs(v - y) > abs(u - x)


class InferredRails(msgspec.Struct, frozen=True, kw_only=True):
    """How to infer rails that were not given; None takes the value of the rule set."""

    direction: Literal["eave", "slope"] = "eave"
    per_row: int | None = None
    inset: Fraction | None = None
    overhang_nm: int | None = None


class SideFacts(msgspec.Struct, frozen=True, kw_only=True):
    """Settings of one side, or of all sides with one facing; readings in nm."""

    open: bool | None = None
    zone: str | None = None
    readings_nm: tuple[int, ...] = ()


class Plane(msgspec.Struct, frozen=True, kw_only=True):
    """One roof plane.

    `rails` is None where the caller says that there are none. `attachment` is what the channel is
    fixed to. `clamps` are wire clips and module clamps, which frame clips stay clear of.
    """

    name: str
    modules: Sequence[Module]
    drawn: Sequence[DrawnShape]
    rails: Sequence[Rail] | InferredRails | None
    penetrations: Sequence[Spot]
    sides: dict[str, SideFacts]
    facings: dict[Facing, SideFacts]
    clamps: Sequence[Spot] = ()
    attachment: Figure[Attachment] = msgspec.field(default_factory=lambda: Figure("rails"))
