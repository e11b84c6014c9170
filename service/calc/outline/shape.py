"""What goes into an outline and what comes out: plain frozen data, lengths in nanometres.

Axes lie on the roof plane: x along the eave, y up the slope.
"""

from __future__ import annotations

from typing import Literal

import msgspec

Facing = Literal["eave", "ridge", "left", "right"]
NoteKind = Literal[
    "hole_too_narrow",
    "slot_too_narrow",
    "arrays_near",
    "touching_at_corner",
    "overlap_within_rounding",
]


class Point(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A place on the roof plane."""

    x_nm: int
    y_nm: int


class Box(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An upright box on the roof plane, from its lower left to its upper right."""

    left_nm: int
    lower_nm: int
    right_nm: int
    upper_nm: int


class Module(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A module: its lower left corner, its size, and its turn about that corner.

    `turn_degrees` counts anticlockwise. A multiple of 90 is exact, and so is what comes so near
    to one that no corner is half a nanometre aside; at any other turn the four corners are rounded
    to whole nanometres.
    """

    x_nm: int
    y_nm: int
    width_nm: int
    height_nm: int
    turn_degrees: float = 0.0


class DrawnShape(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An area drawn as rings of (x, y): one shell and any number of holes, in either direction.

    A ring may repeat its first point at its end. What is drawn stays as drawn: its own slots
    and holes are never closed.
    """

    shell: tuple[tuple[int, int], ...]
    holes: tuple[tuple[tuple[int, int], ...], ...] = ()


class GapRules(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The widths that an outline depends on.

    `join_gap_nm`: a gap up to this joins two modules into one array.
    `hand_gap_nm`: a hole or slot narrower than this is too narrow for a hand.
    `near_gap_nm`: two arrays nearer than this are reported.
    `level_gap_nm`: turned modules that lie out of line by up to this are in line, and those that
    overlap by up to this touch, for their corners come rounded.
    """

    join_gap_nm: int
    hand_gap_nm: int
    near_gap_nm: int
    level_gap_nm: int = 0


class Edge(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One straight run of a loop, from corner `index` to the next.

    The array lies on the left of the way from start to end. `facing` is the side to which the
    outward normal points, into the hole on the edge of a hole; a slanted edge takes the nearest
    side, and at 45 degrees the eave or the ridge.
    """

    index: int
    start: Point
    end: Point
    length_nm: int
    facing: Facing


class Corner(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A corner where edge `index` starts.

    `turn_degrees` is the change of direction, positive at an outside corner of the array and
    negative at an inside corner; right angles are exactly 90.
    """

    index: int
    point: Point
    kind: Literal["outside", "inside"]
    turn_degrees: float


class Loop(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A closed loop: the outer one runs anticlockwise, a hole clockwise.

    It starts at its lowest corner, the leftmost of those.
    """

    kind: Literal["outer", "hole"]
    corners: tuple[Corner, ...]
    edges: tuple[Edge, ...]
    perimeter_nm: int


class ArrayOutline(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The loops of one array."""

    index: int
    outer: Loop
    holes: tuple[Loop, ...]
    perimeter_nm: int


class Note(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Something found that a person should look at; the geometry is left as it is.

    `width_nm` is the width or distance found, `length_nm` how far a slot goes on (0 where that
    means nothing), `arrays` the arrays concerned, `hole` the hole's place in its array.
    """

    kind: NoteKind
    place: Box
    width_nm: int
    length_nm: int = 0
    arrays: tuple[int, ...] = ()
    hole: int | None = None


class Outline(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """All arrays of one roof plane, lowest first, leftmost of those first."""

    arrays: tuple[ArrayOutline, ...]
    perimeter_nm: int
    notes: tuple[Note, ...]
