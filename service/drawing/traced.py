"""The pieces of a run as lines on the page."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from service.calc.layout.lay import LaidRun, NamedPiece
from service.calc.layout.places import path_on
from service.drawing.room import Patch
from service.drawing.sheet import Sheet
from service.drawing.svg import Dot
from service.quantity.show import System, long


class TracedPiece(msgspec.Struct, frozen=True, kw_only=True):
    """One piece on the page: the line of its web, and its returns from bend to foot."""

    name: str
    cut: str
    title: str
    pattern: int
    line: Sequence[Dot]
    braces: tuple[tuple[Dot, Dot], ...]


class TracedRun(msgspec.Struct, frozen=True, kw_only=True):
    """A run on the page; the array lies on the left of its lines."""

    run: LaidRun
    pieces: Sequence[TracedPiece]

    @property
    def box(self) -> Patch:
        """Return the box round all pieces of the run."""
        dots = [dot for piece in self.pieces for dot in piece.line]
        across, down = [x for x, _ in dots], [y for _, y in dots]
        return min(across), min(down), max(across), max(down)

    @property
    def depth(self) -> float:
        """Return the shorter side of the run's box; nothing without pieces."""
        if not self.pieces:
            return 0
        left, top, right, bottom = self.box
        return min(right - left, bottom - top)


def trace(run: LaidRun, sheet: Sheet, system: System) -> TracedRun:
    """Return a run with its pieces as lines on the page."""
    count = len(run.pieces)
    braces: dict[int, list[tuple[Dot, Dot]]] = {}
    for laid in run.returns:
        braces.setdefault(laid.made.piece, []).append((sheet.at(laid.bend), sheet.at(laid.foot)))
    return TracedRun(
        run=run,
        pieces=[
            _piece(run, named, pattern(at, count), sheet, tuple(braces.get(at, ())), system)
            for at, named in enumerate(run.pieces)
        ],
    )


def pattern(number: int, count: int) -> int:
    """Return which of three patterns a piece has: never that of its neighbour, round a loop too."""
    return 1 if number and number == count - 1 and number % 3 == 0 else number % 3


def stretch(run: LaidRun, start_nm: int, covered_nm: int, sheet: Sheet) -> list[Dot]:
    """Return a stretch of a run on the page."""
    return sheet.line(path_on(run.placed, start_nm, covered_nm))


def _piece(
    run: LaidRun,
    named: NamedPiece,
    kind: int,
    sheet: Sheet,
    braces: tuple[tuple[Dot, Dot], ...],
    system: System,
) -> TracedPiece:
    piece = named.piece
    cut = long(piece.cut_nm, system, "up").text
    title = f"{named.name}, cut {cut}"
    if piece.returned_nm:
        title += f" with a return of {long(piece.returned_nm, system, 'up').text}"
    line = stretch(run, piece.start_nm, piece.covered_nm, sheet)
    return TracedPiece(
        name=named.name, cut=cut, title=title, pattern=kind, line=line, braces=braces
    )
