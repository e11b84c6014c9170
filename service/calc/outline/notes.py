"""Places a person should look at, on upright and level edges: exact widths."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from service.calc.outline.closing import closed
from service.calc.outline.edges import Rect, Ring, region_of
from service.calc.outline.near import near_notes, touching_notes
from service.calc.outline.overlap import box_of
from service.calc.outline.shape import ArrayOutline, GapRules, Loop, Note
from service.calc.outline.sweep import Pair, box, width

Owner = tuple[int, int | None]


class Narrow(NamedTuple):
    """A straight stretch of open roof between two edges, each named by its array and hole."""

    one: Owner
    other: Owner
    width_nm: int
    length_nm: int
    place: Rect

    @property
    def arrays(self) -> tuple[int, ...]:
        """Return the arrays on its two sides, the lower number first."""
        return tuple(sorted({self.one[0], self.other[0]}))


def square_notes(
    arrays: Sequence[ArrayOutline], pairs: tuple[list[Pair], list[Pair]], rules: GapRules
) -> list[Note]:
    """Return the notes on arrays whose edges are all upright or level.

    `pairs` are the edges that face each other, across and up, out to the larger of the hand gap
    and the near gap. A slot gives one note for each straight stretch of it.
    """
    stretches = _stretches(arrays, pairs)
    tight = [stretch for stretch in stretches if stretch.width_nm < rules.hand_gap_nm]
    notes = list(_hand_notes(arrays, tight, rules.hand_gap_nm))
    if len(arrays) > 1:
        between = [stretch for stretch in stretches if stretch.one[0] != stretch.other[0]]
        straight = [(s.arrays, s.width_nm, s.place) for s in between]
        notes += near_notes(arrays, straight, rules.near_gap_nm)
    return notes + touching_notes(arrays)


def _stretches(
    arrays: Sequence[ArrayOutline], pairs: tuple[list[Pair], list[Pair]]
) -> list[Narrow]:
    if not pairs[0] and not pairs[1]:
        return []
    owners = _owners(arrays)
    return [
        Narrow(
            owners[axis, *pair[0][:2]],
            owners[axis, *pair[1][:2]],
            width(pair),
            pair[3] - pair[2],
            box(pair, axis),
        )
        for axis in (0, 1)
        for pair in pairs[axis]
    ]


def _owners(arrays: Sequence[ArrayOutline]) -> dict[tuple[int, int, int], Owner]:
    """Return whose each edge is, by axis (0 upright, 1 level), line and lower end."""
    owners: dict[tuple[int, int, int], Owner] = {}
    for array in arrays:
        _own(array.outer, (array.index, None), owners)
        for number, hole in enumerate(array.holes):
            _own(hole, (array.index, number), owners)
    return owners


def _own(loop: Loop, owner: Owner, owners: dict[tuple[int, int, int], Owner]) -> None:
    for edge in loop.edges:
        start, end = edge.start, edge.end
        if start.x_nm == end.x_nm:
            owners[0, start.x_nm, min(start.y_nm, end.y_nm)] = owner
        elif start.y_nm == end.y_nm:
            owners[1, start.y_nm, min(start.x_nm, end.x_nm)] = owner


def _hand_notes(
    arrays: Sequence[ArrayOutline], tight: Sequence[Narrow], hand_gap_nm: int
) -> Iterator[Note]:
    inside: dict[tuple[int, int], list[Narrow]] = defaultdict(list)
    for stretch in tight:
        array, hole = stretch.one
        if hole is not None and stretch.one == stretch.other:
            inside[array, hole].append(stretch)
        else:
            yield _slot_note(stretch)
    by_index = {array.index: array for array in arrays}
    for (array, hole), stretches in inside.items():
        ring = ring_of(by_index[array].holes[hole])
        if _closes(ring, hand_gap_nm - 1):
            yield _hole_note(ring, array, hole, min(each.width_nm for each in stretches))
        else:
            yield from map(_slot_note, stretches)


def _closes(hole: Ring, gap_nm: int) -> bool:
    """Return whether closing gaps up to `gap_nm` would close the whole hole."""
    return not closed(region_of((), [hole]), gap_nm, 0).region.upright


def _slot_note(stretch: Narrow) -> Note:
    return Note(
        kind="slot_too_narrow",
        place=box_of(stretch.place),
        width_nm=stretch.width_nm,
        length_nm=stretch.length_nm,
        arrays=stretch.arrays,
        hole=stretch.one[1] if stretch.one == stretch.other else None,
    )


def _hole_note(ring: Ring, array: int, hole: int, width_nm: int) -> Note:
    across, up = zip(*ring, strict=True)
    return Note(
        kind="hole_too_narrow",
        place=box_of((min(across), min(up), max(across), max(up))),
        width_nm=width_nm,
        arrays=(array,),
        hole=hole,
    )


def ring_of(loop: Loop) -> Ring:
    """Return the corners of a loop as plain numbers."""
    return tuple((corner.point.x_nm, corner.point.y_nm) for corner in loop.corners)
