"""The cells of a search's board: neighbouring marks where pieces end alike.

A set of a cell's marks is one integer with several bits a mark, one for each start that is
being tried.
"""

from __future__ import annotations

import msgspec

from service.calc.pieces.hops import Hop

SECURE, WAITING, LOOSE, FIXED, WAITING_UNTIL = range(5)
"""What is known of the fixings at a piece's end.

SECURE: the fixings keep the span rule up to the next tab. WAITING: in a wide gap, with no
return since the tab before it, and bound to make one in time. LOOSE: in a gap already given up
as overlong. FIXED: a return, too far from the next tab for SECURE. WAITING_UNTIL and kinds
after it: past such a return, and bound to make the next one by a mark that the gap names.
"""


class Landing(msgspec.Struct, frozen=True, kw_only=True):
    """Marks where pieces end alike: the lap and the return they take and what follows."""

    lap_nm: int
    return_nm: int | None
    kind: int
    marks: int


class Due(msgspec.Struct, frozen=True, kw_only=True):
    """Returns whose next fixing may be `span_nm` on, or else as far as a waiting kind may go."""

    marks: int
    span_nm: int | None
    kind: int


class Cell(msgspec.Struct, kw_only=True):
    """Neighbouring marks in one gap, and every way a piece may end on them.

    By kind of the end before it in the gap, `carry` has the plain ends and `turn` the returns
    that may follow; `goal` has the ends at which a layout closes. `enter` has the ends that may
    follow from before the gap, `enter_loose` those by which the gap is given up.
    """

    first: int
    count: int
    shift_nm: int
    gap: int
    wide: bool
    sources: list[tuple[int, int]]
    carry: list[list[Landing]]
    turn: list[list[Landing]]
    goal: list[int]
    enter: list[Landing] = msgspec.field(default_factory=list)
    enter_loose: list[Landing] = msgspec.field(default_factory=list)
    dues: list[Due] = msgspec.field(default_factory=list)
    hops: list[Hop] = msgspec.field(default_factory=list)
    aims: list[list[tuple[int, Landing]]] = msgspec.field(default_factory=list)
    in_gap: list[int] = msgspec.field(default_factory=list)
    beyond: list[int] = msgspec.field(default_factory=list)


def bare_cell(gap: int, kinds: int, *, first: int, count: int, shift_nm: int, wide: bool) -> Cell:
    """Return a cell on which no piece may end yet."""
    return Cell(
        first=first,
        count=count,
        shift_nm=shift_nm,
        gap=gap,
        wide=wide,
        sources=[],
        carry=[[] for _ in range(kinds)],
        turn=[[] for _ in range(kinds)],
        goal=[0] * kinds,
    )


def plain_landings(classes: list[tuple[int, int]], kind: int, among: int) -> list[Landing]:
    """Return the plain ends of each lap on some of its marks."""
    return [
        Landing(lap_nm=lap, return_nm=None, kind=kind, marks=marks & among)
        for lap, marks in classes
        if marks & among
    ]


def cut_down(landings: list[Landing], among: int) -> list[Landing]:
    """Return the landings on some marks alone."""
    return [
        landing
        if landing.marks & among == landing.marks
        else msgspec.structs.replace(landing, marks=landing.marks & among)
        for landing in landings
        if landing.marks & among
    ]
