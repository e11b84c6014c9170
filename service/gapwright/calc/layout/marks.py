"""Marks along the tape of each piece, so that a crew can cut and bend it on the ground."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from operator import attrgetter
from typing import Literal, NamedTuple

import msgspec

from gapwright.calc.layout.runs import PlacedRun
from gapwright.calc.pieces import Piece, PieceLayout

MarkKind = Literal[
    "overlap_ends", "tab", "corner", "penetration", "next_overlaps", "return_bend", "end"
]


class Mark(msgspec.Struct, frozen=True, kw_only=True):
    """One mark: how far along the piece's tape [nm], what is made there, and on which side.

    `overlap_ends`: the piece before reaches to here. `next_overlaps`: the next piece begins here.
    `return_bend`: beyond here the mesh is turned in under the array, towards the end of the piece
    that is nearer. `inside` tells a corner that
    turns towards the array, `upright` a tab at a rail that runs up the slope.
    """

    at_nm: int
    kind: MarkKind
    side: str
    inside: bool = False
    upright: bool = False


class _Feature(NamedTuple):
    """A feature under a piece: its place on the run, and its mark."""

    at_nm: int
    order: int
    kind: MarkKind
    side: str
    inside: bool = False
    upright: bool = False

    def mark(self, along_nm: int) -> Mark:
        """Return how it is marked so far along the tape of a piece [nm]."""
        return Mark(
            at_nm=along_nm,
            kind=self.kind,
            side=self.side,
            inside=self.inside,
            upright=self.upright,
        )


def marks_of(layout: PieceLayout, placed: PlacedRun) -> list[tuple[Mark, ...]]:
    """Return the marks of each piece along a run in the order of its tape.

    They count from the piece's first cut end. At one place they come in the order of the kinds in
    `MarkKind`.
    """
    features = sorted(_features(placed))
    places = [feature.at_nm for feature in features]
    pieces = layout.pieces
    overlaps = [piece.overlap_nm for piece in pieces[1:]]
    overlaps += [piece.overlap_nm if placed.run.closed else 0 for piece in pieces[:1]]
    found = []
    for piece, following in zip(pieces, overlaps, strict=True):
        covered, turned = piece.covered_nm, piece.start_return_nm or 0
        passed = placed.passed(places, piece.start_nm, covered)
        marks = [
            feature.mark(turned + along)
            for along, number in passed
            if (feature := features[number]).kind != "corner" or 0 < along < covered
        ]
        found.append(tuple(_with_ends(marks, piece, following, placed)))
    return found


def _features(placed: PlacedRun) -> Iterator[_Feature]:
    """Yield the tabs, corners and penetrations of a run."""
    for tab in placed.tabs:
        side = placed.sides[placed.side_at(tab.at_nm)]
        yield _Feature(tab.at_nm, 1, "tab", side.name, upright=tab.upright)
    for at, side in zip(placed.starts_nm, placed.sides, strict=True):
        yield _Feature(at, 2, "corner", side.name, side.inside)
    for at in placed.penetrations_nm:
        yield _Feature(at, 3, "penetration", placed.sides[placed.side_at(at)].name)


def _with_ends(marks: list[Mark], piece: Piece, following: int, placed: PlacedRun) -> list[Mark]:
    """Return a piece's marks with those of its overlaps, its returns and its end put in.

    The next piece overlaps it by `following`; 0 at the end of an open run.
    """
    turned, covered = piece.start_return_nm or 0, piece.covered_nm

    def mark(along: int, kind: MarkKind) -> Mark:
        return Mark(at_nm=turned + along, kind=kind, side=_side(piece, along, placed))

    if piece.overlap_nm:
        overlap_end = mark(piece.overlap_nm, "overlap_ends")
        marks.insert(bisect_left(marks, overlap_end.at_nm, key=_along), overlap_end)
    if following:
        next_start = mark(covered - following, "next_overlaps")
        marks.insert(bisect_right(marks, next_start.at_nm, key=_along), next_start)
    if piece.start_return_nm is not None:
        marks.insert(0, mark(0, "return_bend"))
    if piece.return_nm is not None:
        marks.append(mark(covered, "return_bend"))
    cut = mark(covered, "end")
    marks.append(msgspec.structs.replace(cut, at_nm=piece.cut_nm))
    return marks


_along = attrgetter("at_nm")


def _side(piece: Piece, along: int, placed: PlacedRun) -> str:
    """Return the name of the side on which a place of a piece lies."""
    place = piece.start_nm + along
    place = place % placed.run.length_nm if placed.run.closed else place
    return placed.sides[placed.side_at(place)].name
