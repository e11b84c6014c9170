"""Marks along the tape of each piece, so that a crew can cut and bend it on the ground."""

from __future__ import annotations

from bisect import insort_left, insort_right
from collections.abc import Iterator, Sequence
from operator import attrgetter
from typing import Literal, get_args

import msgspec
from msgspec.structs import replace

from gapwright.calc.layout.runs import PlacedRun, place_on
from gapwright.calc.pieces import Piece, PieceLayout

MarkKind = Literal[
    "overlap_ends", "tab", "clip", "corner", "penetration", "next_overlaps", "return_bend", "end"
]
_ORDER = get_args(MarkKind)


class Mark(msgspec.Struct, frozen=True, kw_only=True):
    """One mark: how far along the piece's tape [nm], what is made there, and on which side.

    `overlap_ends`: the piece before reaches to here. `next_overlaps`: the next piece begins here.
    `return_bend`: beyond here the mesh is turned in under the array, towards the end of the piece
    that is nearer. `inside` tells a corner that turns towards the array, `upright` a tab at a rail
    that runs up the slope.
    """

    at_nm: int
    kind: MarkKind
    side: str
    inside: bool = False
    upright: bool = False


def marks_of(
    layout: PieceLayout, placed: PlacedRun, clips_nm: Sequence[int] = ()
) -> list[tuple[Mark, ...]]:
    """Return the marks of each piece along a run in the order of its tape.

    They count from the piece's first cut end. At one place they come in the order of the kinds in
    `MarkKind`.
    """
    on_run = sorted(
        _marks_on(placed, clips_nm), key=lambda mark: (mark.at_nm, _ORDER.index(mark.kind))
    )
    places = [mark.at_nm for mark in on_run]
    pieces = layout.pieces
    overlaps = [piece.overlap_nm for piece in pieces[1:]]
    overlaps += [piece.overlap_nm if placed.run.closed else 0 for piece in pieces[:1]]
    found = []
    for piece, following in zip(pieces, overlaps, strict=True):
        covered, turned = piece.covered_nm, piece.start_return_nm or 0
        marks = [
            replace(on_run[number], at_nm=turned + along)
            for along, number in placed.passed(places, piece.start_nm, covered)
            if on_run[number].kind not in ("corner", "clip") or 0 < along < covered
        ]
        found.append(tuple(_with_ends(marks, piece, following, placed)))
    return found


def _marks_on(placed: PlacedRun, clips_nm: Sequence[int]) -> Iterator[Mark]:
    """Yield the tabs, clips, corners and penetrations of a run, at their places along it."""
    for tab in placed.tabs:
        side = placed.sides[placed.side_at(tab.at_nm)]
        yield Mark(at_nm=tab.at_nm, kind="tab", side=side.name, upright=tab.upright)
    for at, side in zip(placed.starts_nm, placed.sides, strict=True):
        yield Mark(at_nm=at, kind="corner", side=side.name, inside=side.inside)
    for at in clips_nm:
        yield Mark(at_nm=at, kind="clip", side=placed.sides[placed.side_at(at)].name)
    for at in placed.penetrations_nm:
        yield Mark(at_nm=at, kind="penetration", side=placed.sides[placed.side_at(at)].name)


def _with_ends(marks: list[Mark], piece: Piece, following: int, placed: PlacedRun) -> list[Mark]:
    """Return a piece's marks with those of its overlaps, its returns and its end put in.

    The next piece overlaps it by `following`; 0 at the end of an open run.
    """
    turned, covered = piece.start_return_nm or 0, piece.covered_nm

    def mark(along: int, kind: MarkKind) -> Mark:
        side, _ = place_on(placed, piece.start_nm + along)
        return Mark(at_nm=turned + along, kind=kind, side=side.name)

    if piece.overlap_nm:
        insort_left(marks, mark(piece.overlap_nm, "overlap_ends"), key=_along)
    if following:
        insort_right(marks, mark(covered - following, "next_overlaps"), key=_along)
    if piece.start_return_nm is not None:
        marks.insert(0, mark(0, "return_bend"))
    if piece.return_nm is not None:
        marks.append(mark(covered, "return_bend"))
    marks.append(replace(mark(covered, "end"), at_nm=piece.cut_nm))
    return marks


_along = attrgetter("at_nm")
