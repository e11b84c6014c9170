"""What goes into an outline and what comes out: frozen structs, lengths in nanometers.

Axes lie on the roof plane: x along the eave, y up the slope.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

import msgspec
import shapely

Spot = tuple[int, int]
"""A place on the roof plane: x, y."""
Path = tuple[str | int, ...]
Facing = Literal["eave", "ridge", "left", "right"]
NoteKind = Literal[
    "hole_too_narrow",
    "slot_too_narrow",
    "arrays_near",
    "touching_at_corner",
    "overlap_within_rounding",
]
ROUNDING_NM = 3
"""How far apart two computations of one corner may end, where modules are turned."""


class Bounds(msgspec.Struct, frozen=True, kw_only=True, order=True):
    """An upright box on the roof plane."""

    left_nm: int
    lower_nm: int
    right_nm: int
    upper_nm: int


class Module(msgspec.Struct, frozen=True, kw_only=True):
    """A module: its lower left corner, its size, and its rotation about that corner.

    `turn_degrees` counts counterclockwise. Within 5e-8 degrees of a multiple of 90 it is that
    multiple: angles are often computed.
    """

    x_nm: int
    y_nm: int
    width_nm: int
    height_nm: int
    turn_degrees: float = 0.0


class DrawnShape(msgspec.Struct, frozen=True, kw_only=True):
    """An area drawn as rings of (x, y): one shell and any number of holes, in either direction.

    A ring may repeat its first point at its end. What is drawn stays as drawn: its own slots
    and holes are not closed.
    """

    exterior: tuple[Spot, ...]
    holes: tuple[tuple[Spot, ...], ...] = ()


class GapRules(msgspec.Struct, frozen=True, kw_only=True):
    """The widths that an outline depends on.

    `max_module_gap_nm`: a gap up to this joins two modules into one array.
    `level_gap_nm`: modules that overlap by up to this touch, and modules out of line by up to
    this are in line, because coordinates come rounded.
    """

    max_module_gap_nm: int
    level_gap_nm: int = 0

    @property
    def tolerance_nm(self) -> int:
        """Return the deepest overlap that is taken for rounding."""
        return max(self.level_gap_nm, ROUNDING_NM)

    @property
    def alignment_nm(self) -> int:
        """Return the largest step in a side that is taken for rounding.

        At least what a buffer by half the join gap smooths out, 1 % of that; at most half the
        join gap, so that sides moved by it cannot meet those of another array.
        """
        return min(
            max(self.tolerance_nm, self.max_module_gap_nm // 200), self.max_module_gap_nm // 2
        )


class Side(msgspec.Struct, frozen=True, kw_only=True):
    """One straight side of a loop, from corner to corner.

    The array is on the left of the way from start to end. `facing` is the side to which the
    outward normal points, into the hole on the side of a hole; a slanted side takes the nearest
    side, and at 45 degrees the eave or the ridge. `loop` is the name of its loop, `inside` whether
    it starts at an inside corner of the array.
    """

    name: str
    loop: str
    start: Spot
    end: Spot
    length_nm: int
    facing: Facing
    inside: bool
    hole: bool


class Loop(msgspec.Struct, frozen=True, kw_only=True):
    """A closed loop: counterclockwise around an array, clockwise around a hole.

    It starts at its lowest corner, the leftmost of those.
    """

    sides: tuple[Side, ...]

    @property
    def corners(self) -> tuple[Spot, ...]:
        """Return its corners, the one where each side starts."""
        return tuple(side.start for side in self.sides)

    @property
    def perimeter_nm(self) -> int:
        """Return how long it is."""
        return sum(side.length_nm for side in self.sides)


class ArrayOutline(msgspec.Struct, frozen=True, kw_only=True):
    """The loops of one array."""

    outer: Loop
    holes: tuple[Loop, ...]

    @property
    def loops(self) -> tuple[Loop, ...]:
        """Return all its loops, the outer one first."""
        return (self.outer, *self.holes)

    @property
    def perimeter_nm(self) -> int:
        """Return how long its loops are together."""
        return sum(loop.perimeter_nm for loop in self.loops)


class Note(msgspec.Struct, frozen=True, kw_only=True, order=True):
    """Something a person should look at: where it is, and the width or distance found there."""

    kind: NoteKind
    place: Bounds
    width_nm: int


class ArrayShape(NamedTuple):
    """An array as a polygon in axes turned with it, measured from the outline's origin."""

    degrees: float
    polygon: shapely.Polygon


class Outline(msgspec.Struct, frozen=True, kw_only=True):
    """All arrays of one roof plane, lowest first, leftmost of those first.

    `shapes` are the same arrays in the same order; `notes` tell what was taken for rounding.
    """

    arrays: tuple[ArrayOutline, ...]
    notes: tuple[Note, ...]
    origin: Spot
    shapes: tuple[ArrayShape, ...]

    @property
    def loops(self) -> tuple[Loop, ...]:
        """Return the loops of all arrays."""
        return tuple(loop for array in self.arrays for loop in array.loops)

    @property
    def sides(self) -> tuple[Side, ...]:
        """Return the sides of all loops."""
        return tuple(side for loop in self.loops for side in loop.sides)

    @property
    def perimeter_nm(self) -> int:
        """Return how long all loops are together."""
        return sum(loop.perimeter_nm for loop in self.loops)
