"""The channel on a plan: pieces in three patterns, overlaps, returns, and what is marked on it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from gapwright.calc.layout.lay import LaidRun, NamedPiece
from gapwright.calc.layout.runs import along, path_on, place_on
from gapwright.drawing import svg, symbols
from gapwright.drawing.canvas import Canvas
from gapwright.drawing.geometry import (
    bounding_box,
    box_around,
    boxes_along,
    direction,
    inward,
    offset_line,
    outward,
    segments,
)
from gapwright.drawing.svg import Point

_UNSUPPORTED_PX = 11.0
"""How far outside the edge an unsupported stretch is marked."""
_CHANNEL_PX = 8.0
"""How wide the channel is drawn: to be seen, not its true width."""
_MIN_OVERLAP_PX = 5.0


def piece_pattern(number: int, count: int) -> int:
    """Return which of three patterns a piece has: never its neighbor's, around a loop too."""
    return 1 if number and number == count - 1 and number % 3 == 0 else number % 3


def piece_line(run: LaidRun, named: NamedPiece, canvas: Canvas) -> list[Point]:
    """Return the line of a piece along its edges on the page."""
    piece = named.piece
    return canvas.line(path_on(run.placed, piece.start_nm, piece.covered_nm))


def draw_channel(canvas: Canvas) -> list[str]:
    """Return the channel with all symbols on it, lowest first, and occupy their boxes."""
    runs = canvas.laid.runs
    return [
        svg.group("Returns", *(line for run in runs for line in _draw_returns(run, canvas))),
        *(_draw_run(run, canvas) for run in runs),
        _draw_overlaps([line for run in runs for line in _overlap_lines(run, canvas)], canvas),
        _draw_unsupported(canvas),
        _draw_tabs(canvas),
        *(_draw_corners(canvas, inside=inside) for inside in (False, True)),
        _draw_penetrations(canvas),
        _draw_starts(canvas),
    ]


def _draw_run(run: LaidRun, canvas: Canvas) -> str:
    """Return the pieces of a run: plain bands first, then what makes their patterns."""
    width = _CHANNEL_PX * canvas.symbol_size
    lines = [piece_line(run, piece, canvas) for piece in run.pieces]
    patterns = [piece_pattern(number, len(lines)) for number in range(len(lines))]
    for line in lines:
        canvas.occupancy.occupy(boxes_along(line, width / 2 + 1))
    bands = [
        svg.path(f"p{pattern}", svg.polyline(line), title=_title(piece, canvas))
        for piece, line, pattern in zip(run.pieces, lines, patterns, strict=True)
    ]
    double, ladder = (
        svg.polylines(line for line, own in zip(lines, patterns, strict=True) if own == pattern)
        for pattern in (1, 2)
    )
    names = [piece.name for piece in run.pieces]
    return svg.group(
        f"Pieces {names[0]} to {names[-1]}" if names else "No pieces",
        svg.lines_of_width(width, *bands),
        svg.path("c1", double, stroke_width=width * 0.36),
        svg.path("c2", ladder, stroke_width=width),
    )


def _title(named: NamedPiece, canvas: Canvas) -> str:
    title = f"{named.name}, cut {canvas.length_text(named.piece.cut_nm)}"
    if named.piece.returned_nm:
        title += f" with a return of {canvas.length_text(named.piece.returned_nm)}"
    return title


def _draw_returns(run: LaidRun, canvas: Canvas) -> Iterator[str]:
    for placed in run.returns:
        line = canvas.line((placed.bend, placed.foot))
        canvas.occupancy.occupy([*boxes_along(line, 3), box_around(line[1], 5)])
        number = placed.made.piece
        kind = f"p{piece_pattern(number, len(run.pieces))}"
        title = f"Return of {run.pieces[number].name}"
        path = svg.path(kind, svg.polyline(line), title=title)
        yield svg.lines_of_width(3.5 * canvas.symbol_size, path)
        yield svg.circle("ink dot", line[1], 3)


def _overlap_lines(run: LaidRun, canvas: Canvas) -> Iterator[list[Point]]:
    """Yield each overlap on the page, lengthened about its middle where it could not be seen."""
    min_nm = round(_MIN_OVERLAP_PX / canvas.scale.px_per_nm)
    whole = run.placed.run
    for overlap in run.layout.overlaps:
        added_nm = max(min_nm - overlap.overlap_nm, 0)
        start_nm = overlap.start_nm - added_nm // 2
        if not whole.closed:
            start_nm = min(max(start_nm, 0), whole.length_nm)
        covered_nm = min(overlap.overlap_nm + added_nm, whole.length_nm)
        yield canvas.line(path_on(run.placed, start_nm, covered_nm))


def _draw_overlaps(lines: Sequence[Sequence[Point]], canvas: Canvas) -> str:
    for line in lines:
        canvas.occupancy.occupy(boxes_along(line, 7.5 * canvas.symbol_size))
    data = svg.polylines(lines)
    return svg.group(f"{len(lines)} overlaps", symbols.overlaps(data, canvas.symbol_size))


def _draw_unsupported(canvas: Canvas) -> str:
    """Return a mark outside the edges along each stretch that is too long without attachment."""
    marks = [
        offset_line(
            canvas.line(path_on(run.placed, span.start_nm, span.length_nm)), _UNSUPPORTED_PX
        )
        for run in canvas.laid.runs
        for span in run.layout.overlong
    ]
    for mark in marks:
        canvas.occupancy.occupy(boxes_along(mark, 3))
    data = svg.polylines(mark for mark in marks if mark)
    return svg.group(f"{len(marks)} overlong spans", svg.path("over", data))


def _draw_tabs(canvas: Canvas) -> str:
    """Return a flag at each tab: outside the edge, upslope of the rail or on the right of it."""
    flags = []
    for run in canvas.laid.runs:
        for placed, tab in run.placed.tabs_by_side():
            point, line = canvas.at(along(placed, tab.at_nm)), canvas.side(placed)
            dx, dy = direction(line)
            up = (dx, dy) if dy < 0 or (dy == 0 and dx > 0) else (-dx, -dy)
            flags.append(symbols.tab(point, outward(line), up, canvas.symbol_size))
    canvas.occupancy.occupy(bounding_box(flag, 1) for flag in flags)
    return svg.group(f"{len(flags)} tabs", svg.path("tab", svg.polylines(flags, closed=True)))


def _draw_corners(canvas: Canvas, *, inside: bool) -> str:
    """Return a square at each outside corner of the channel, or a diamond at each inside one."""
    corners = canvas.laid.corners
    points = [canvas.side(placed)[0] for placed in corners if placed.inside == inside]
    canvas.occupancy.occupy(box_around(point, 6) for point in points)
    data = "".join(symbols.corner(point, canvas.symbol_size, inside=inside) for point in points)
    name = f"{len(points)} {'inside' if inside else 'outside'} corners"
    return svg.group(name, svg.path("corner", data))


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


def _draw_starts(canvas: Canvas) -> str:
    """Return an arrow inside the array where the work on each run starts, in its direction."""
    arrows = []
    for run in canvas.laid.runs:
        line = piece_line(run, run.pieces[0], canvas) if run.pieces else []
        for part in list(segments(line))[:1]:
            arrow = symbols.start_arrow(part[0], direction(part), inward(part), canvas.symbol_size)
            arrows.append(arrow)
    canvas.occupancy.occupy(bounding_box(arrow, 1) for arrow in arrows)
    data = "".join(map(symbols.arrow_data, arrows))
    return svg.group("Where the work starts", svg.path("outline", data))
