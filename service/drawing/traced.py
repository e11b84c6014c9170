"""The pieces of a run as lines on the page."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from service.calc.layout.lay import LaidRun, NamedPiece
from service.calc.layout.places import path_on, place_on
from service.drawing.braces import Braces
from service.drawing.room import Patch
from service.drawing.sheet import Sheet
from service.drawing.svg import Dot
from service.quantity.show import System, long


class TracedPiece(msgspec.Struct, frozen=True, kw_only=True):
    """One piece on the page: the line of its web, and the brace of its return, if it has one."""

    name: str
    cut: str
    title: str
    pattern: int
    line: Sequence[Dot]
    brace: tuple[Dot, Dot] | None


class TracedRun(msgspec.Struct, frozen=True, kw_only=True):
    """A run on the page; `side` is 1 where the array lies on the left of the way of its lines."""

    run: LaidRun
    side: int
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


def trace(run: LaidRun, sheet: Sheet, braces: Braces, system: System) -> TracedRun:
    """Return a run with its pieces as lines on the page."""
    count = len(run.pieces)
    return TracedRun(
        run=run,
        side=-1 if run.layout.backward else 1,
        pieces=[
            _piece(run, named, pattern(number, count), sheet, braces, system)
            for number, named in enumerate(run.pieces)
        ],
    )


def pattern(number: int, count: int) -> int:
    """Return which of three patterns a piece has: never that of its neighbour, round a loop too."""
    return 1 if number and number == count - 1 and number % 3 == 0 else number % 3


def stretch(
    run: LaidRun, start_nm: int, covered_nm: int, sheet: Sheet, *, forward: bool = False
) -> list[Dot]:
    """Return a stretch of a run on the page, as the work goes, or `forward` as the edges do."""
    backward = run.layout.backward and not forward
    return sheet.line(path_on(run.placed, start_nm, covered_nm, backward=backward))


def _piece(
    run: LaidRun, named: NamedPiece, kind: int, sheet: Sheet, braces: Braces, system: System
) -> TracedPiece:
    piece = named.piece
    made = piece.return_nm
    covered = piece.cut_nm - (made or 0)
    cut = long(piece.cut_nm, system, "up").text
    title = f"{named.name}, cut {cut}"
    if made is not None:
        title += f" with a return of {long(made, system, 'up').text}"
    line = stretch(run, piece.start_nm, covered, sheet)
    brace = _brace(run, piece.end_nm, made, sheet, braces) if made is not None else None
    return TracedPiece(name=named.name, cut=cut, title=title, pattern=kind, line=line, brace=brace)


def _brace(
    run: LaidRun, end_nm: int, made_nm: int, sheet: Sheet, braces: Braces
) -> tuple[Dot, Dot] | None:
    """Return the brace of a return; one made at a corner belongs to either of its edges."""
    backward = run.layout.backward
    bend = place_on(run.placed, end_nm)[1]
    for at_nm in (end_nm, end_nm + (1 if backward else -1)):
        edge = place_on(run.placed, at_nm)[0].edge
        foot = braces.foot(edge, bend, made_nm, backward=backward)
        if foot:
            return sheet.at(bend), sheet.at(foot)
    return None
