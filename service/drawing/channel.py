"""The channel on a plan: pieces in three patterns, overlaps, returns, and what is marked on it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import msgspec

from service.calc.layout.lay import LaidRun, NamedPiece
from service.calc.layout.places import along, path_on, place_on
from service.drawing import svg, symbols
from service.drawing.canvas import Canvas
from service.drawing.geometry import (
    Box,
    Segment,
    bounding_box,
    box_around,
    boxes_along,
    direction,
    inward,
    offset_line,
    outward,
    segments,
)
from service.drawing.svg import Point

UNSUPPORTED_PX = 11.0
"""How far outside the edge an unsupported stretch is marked."""
_CHANNEL_PX = 8.0
"""How wide the channel is drawn: to be seen, not its true width."""
_MIN_OVERLAP_PX = 5.0
_MIN_ARROW_DEPTH_PX = 45.0


class DrawnPiece(msgspec.Struct, frozen=True, kw_only=True):
    """One piece on the page: the line of its web, and those of its returns from bend to rail."""

    name: str
    cut_length: str
    title: str
    pattern: int
    line: Sequence[Point]
    return_lines: Sequence[Segment]


class DrawnRun(msgspec.Struct, frozen=True, kw_only=True):
    """A run with its pieces on the page."""

    laid: LaidRun
    pieces: Sequence[DrawnPiece]

    @property
    def name(self) -> str:
        """Return the name of the run."""
        return self.laid.placed.name

    @property
    def is_hole(self) -> bool:
        """Return whether the run goes round a hole."""
        return self.laid.placed.edges[0].hole

    @property
    def box(self) -> Box:
        """Return the box around all pieces of the run."""
        return bounding_box(point for piece in self.pieces for point in piece.line)

    @property
    def depth(self) -> float:
        """Return the shorter side of the run's box [px]; 0 without pieces."""
        if not self.pieces:
            return 0
        left, top, right, bottom = self.box
        return min(right - left, bottom - top)

    @property
    def shows_start(self) -> bool:
        """Return whether the run has room for the arrow at its start."""
        is_open = bool(self.pieces) and not self.laid.placed.run.closed
        return is_open or self.depth >= _MIN_ARROW_DEPTH_PX


def drawn_run(run: LaidRun, canvas: Canvas) -> DrawnRun:
    """Return a run with its pieces as lines on the page."""
    returns: list[list[Segment]] = [[] for _ in run.pieces]
    for placed in run.returns:
        returns[placed.made.piece].append((canvas.at(placed.bend), canvas.at(placed.foot)))
    return DrawnRun(
        laid=run,
        pieces=[
            _drawn_piece(run, named, piece_pattern(number, len(returns)), returns[number], canvas)
            for number, named in enumerate(run.pieces)
        ],
    )


def piece_pattern(number: int, count: int) -> int:
    """Return which of three patterns a piece has: never its neighbor's, around a loop too."""
    return 1 if number and number == count - 1 and number % 3 == 0 else number % 3


def _drawn_piece(
    run: LaidRun, named: NamedPiece, pattern: int, returns: Sequence[Segment], canvas: Canvas
) -> DrawnPiece:
    piece = named.piece
    cut_length = canvas.length_text(piece.cut_nm)
    title = f"{named.name}, cut {cut_length}"
    if piece.returned_nm:
        title += f" with a return of {canvas.length_text(piece.returned_nm)}"
    return DrawnPiece(
        name=named.name,
        cut_length=cut_length,
        title=title,
        pattern=pattern,
        line=canvas.line(path_on(run.placed, piece.start_nm, piece.covered_nm)),
        return_lines=returns,
    )


def draw_channel(runs: Sequence[DrawnRun], canvas: Canvas) -> list[str]:
    """Return the channel with all symbols on it, lowest first, and occupy their boxes."""
    overlaps = [line for run in runs for line in _overlap_lines(run, canvas)]
    return [
        svg.group("Returns", *_draw_returns(runs, canvas)),
        *(_draw_run(run, canvas) for run in runs),
        svg.group(f"{len(overlaps)} laps", *_draw_overlaps(overlaps, canvas)),
        _draw_unsupported(runs, canvas),
        _draw_tabs(canvas),
        *_draw_corners(canvas),
        _draw_penetrations(canvas),
        _draw_starts(runs, canvas),
    ]


def _occupy_line(line: Sequence[Point], half_width: float, canvas: Canvas) -> None:
    for part in segments(line):
        canvas.occupancy.occupy(boxes_along(*part, half_width))


def _draw_run(run: DrawnRun, canvas: Canvas) -> str:
    """Return the pieces of a run: plain bands first, then what makes their patterns."""
    width = _CHANNEL_PX * canvas.symbol_size
    for piece in run.pieces:
        _occupy_line(piece.line, width / 2 + 1, canvas)
    bands = [svg.path(f"p{p.pattern}", svg.polyline(p.line), title=p.title) for p in run.pieces]
    double, ladder = ([p.line for p in run.pieces if p.pattern == n] for n in (1, 2))
    return svg.group(
        f"Run {run.name}, {len(run.pieces)} pieces",
        svg.lines_of_width(width, *bands),
        svg.path("c1", svg.polylines(double), stroke_width=width * 0.36),
        svg.path("c2", svg.polylines(ladder), stroke_width=width),
    )


def _draw_returns(runs: Sequence[DrawnRun], canvas: Canvas) -> Iterator[str]:
    for piece in (piece for run in runs for piece in run.pieces):
        for line in piece.return_lines:
            _occupy_line(line, 3, canvas)
            canvas.occupancy.occupy([box_around(line[1], 5)])
            title = f"Return of {piece.name}"
            path = svg.path(f"p{piece.pattern}", svg.polyline(line), title=title)
            yield svg.lines_of_width(3.5 * canvas.symbol_size, path)
            yield svg.circle("ink dot", line[1], 3)


def has_enlarged_overlaps(runs: Sequence[DrawnRun], canvas: Canvas) -> bool:
    """Return whether some overlap is drawn longer than it is, to be seen."""
    min_nm = _MIN_OVERLAP_PX / canvas.scale.px_per_nm
    return any(lap.lap_nm < min_nm for run in runs for lap in run.laid.layout.laps)


def _overlap_lines(run: DrawnRun, canvas: Canvas) -> Iterator[Sequence[Point]]:
    """Yield each overlap on the page, lengthened about its middle where it could not be seen."""
    min_nm = round(_MIN_OVERLAP_PX / canvas.scale.px_per_nm)
    placed = run.laid.placed
    for lap in run.laid.layout.laps:
        added_nm = max(min_nm - lap.lap_nm, 0)
        start_nm = lap.start_nm - added_nm // 2
        if not placed.run.closed:
            start_nm = min(max(start_nm, 0), placed.run.length_nm)
        covered_nm = min(lap.lap_nm + added_nm, placed.run.length_nm)
        yield canvas.line(path_on(placed, start_nm, covered_nm))


def _draw_overlaps(overlaps: Sequence[Sequence[Point]], canvas: Canvas) -> Iterator[str]:
    for line in overlaps:
        _occupy_line(line, 7.5 * canvas.symbol_size, canvas)
    if overlaps:
        yield symbols.overlaps(svg.polylines(overlaps), canvas.symbol_size)


def unsupported_lines(run: DrawnRun, canvas: Canvas) -> list[list[Point]]:
    """Return the lines of the stretches out of reach of the attachment before them."""
    placed = run.laid.placed
    return [
        canvas.line(path_on(placed, part.start_nm, part.length_nm))
        for part in run.laid.layout.overlong
    ]


def _draw_unsupported(runs: Sequence[DrawnRun], canvas: Canvas) -> str:
    lines = [
        offset_line(line, UNSUPPORTED_PX) for run in runs for line in unsupported_lines(run, canvas)
    ]
    for line in lines:
        _occupy_line(line, 3, canvas)
    return svg.group(f"{len(lines)} overlong spans", svg.path("over", svg.polylines(lines)))


def _draw_tabs(canvas: Canvas) -> str:
    """Return a flag at each tab: outside the edge, upslope of the rail or on the right of it."""
    flags = []
    for run in canvas.laid.runs:
        for placed, tab in run.placed.tabs_by_edge():
            point, line = canvas.at(along(placed, tab.at_nm)), canvas.edge(placed)
            ahead = direction(line)
            goes_up = ahead[1] < 0 or (ahead[1] == 0 and ahead[0] > 0)
            up = ahead if goes_up else (-ahead[0], -ahead[1])
            flags.append(symbols.tab(point, outward(line), up, canvas.symbol_size))
    canvas.occupancy.occupy(bounding_box(flag, 1) for flag in flags)
    return svg.group(f"{len(flags)} tabs", svg.path("tab", svg.polylines(flags, closed=True)))


def _draw_corners(canvas: Canvas) -> Iterator[str]:
    """Yield a square at each outside corner of the channel, a diamond at each inside one."""
    kinds: tuple[tuple[str, bool, Callable[[Point, float], str]], ...] = (
        ("outside", False, symbols.square),
        ("inside", True, symbols.diamond),
    )
    for name, inside, symbol in kinds:
        points = [
            canvas.edge(placed)[0] for placed in canvas.laid.corners if placed.inside == inside
        ]
        canvas.occupancy.occupy(box_around(point, 6) for point in points)
        data = "".join(symbol(point, canvas.symbol_size) for point in points)
        yield svg.group(f"{len(points)} {name} corners", svg.path("corner", data))


def _draw_penetrations(canvas: Canvas) -> str:
    """Return a ring where the channel is cut out, and a dot where the penetration itself is."""
    rings = [
        canvas.at(place_on(run.placed, at_nm)[1])
        for run in canvas.laid.runs
        for at_nm in run.placed.penetrations_nm
    ]
    dots = canvas.nearby(canvas.laid.plane.penetrations)
    canvas.occupancy.occupy(box_around(point, 9) for point in rings)
    canvas.occupancy.occupy(box_around(point, 5) for point in dots)
    return svg.group(
        f"{len(dots)} penetrations, {len(rings)} cut-outs",
        *(symbols.cut_out(point, canvas.symbol_size) for point in rings),
        *(svg.circle("ink", point, 3) for point in dots),
    )


def _draw_starts(runs: Sequence[DrawnRun], canvas: Canvas) -> str:
    """Return an arrow inside the array where the work on each run starts, in its direction."""
    arrows = []
    for run in runs:
        part = next(segments(run.pieces[0].line), None) if run.shows_start else None
        if part:
            arrow = symbols.start_arrow(part[0], direction(part), inward(part), canvas.symbol_size)
            arrows.append(arrow)
    canvas.occupancy.occupy(bounding_box(arrow, 1) for arrow in arrows)
    data = "".join(map(symbols.arrow_data, arrows))
    return svg.group("Where the work starts", svg.path("outline", data))
