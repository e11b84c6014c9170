"""The plan of one roof plane to scale: modules, rails, zones, channel, labels and dimensions."""

from __future__ import annotations

from cmath import rect
from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import radians
from typing import Literal

import msgspec
import shapely

from gapwright.calc.layout.lay import LaidRun
from gapwright.calc.layout.runs import along, path_on, place_on
from gapwright.calc.outline import Module
from gapwright.drawing import legend, svg
from gapwright.drawing.canvas import Canvas, segments, unit
from gapwright.drawing.labels import (
    ZONE_DEPTH_PX,
    Numbered,
    draw_labels,
    draw_warnings,
    piece_line,
)
from gapwright.drawing.svg import Block, PagePoint, number, polyline, polylines, text_width
from gapwright.quantity.show import NM_PER_FT, NM_PER_M

_CHANNEL_PX = 8.0
"""How wide the channel is drawn: to be seen, not its true width."""
_UNSUPPORTED_PX = 17.0
"""How wide the mark of a stretch without attachment is."""
_ZONE_INSET_PX = 4.5
_RAIL_MARGIN_NM = 1_000_000_000
"""How far past the arrays a rail is drawn at most: a much longer one would hide the rest."""
_DIMENSION_GAP_PX = 18
_TICK = 5 - 5j
_BAR_LENGTHS = (1, 2, 4, 10, 20, 40, 100, 200, 400, 1000, 2000, 4000, 10000)
"""In feet or meters."""
_MAX_BAR_PX = 220


class Plan(msgspec.Struct, frozen=True, kw_only=True):
    """A plan as a block, what its numbers stand for, and its scale 1:`ratio`."""

    block: Block
    numbered: Sequence[Numbered]
    ratio: int


def draw_plan(canvas: Canvas) -> Plan:
    """Return the plan of a laid-out roof plane."""
    # what is placed first gets the best position: channel, warnings, pieces, sides, dimensions
    channel = list(_draw_channel(canvas))
    _reserve_extension_lines(canvas)
    discs, numbered = draw_warnings(canvas)
    labels, names = draw_labels(canvas, len(numbered) + 1)
    numbered += names
    dimensions = _draw_dimensions(canvas, numbered)
    body = [*_draw_background(canvas), *channel, *labels, discs, *dimensions, _draw_slope(canvas)]
    left, top, right, bottom = canvas.occupancy.extent
    moved = svg.translate(complex(-left, -top), "".join(body))
    plan = Block(width=right - left, height=bottom - top, body=moved)
    block = svg.stack([plan, _scale_bar(canvas)], 4)
    return Plan(block=block, numbered=numbered, ratio=canvas.scale.ratio)


def _draw_background(canvas: Canvas) -> list[str]:
    """Return modules or drawn shapes, zones, rails and the outline, lowest first."""
    laid, size = canvas.laid, canvas.symbol_size
    loops = laid.outline.loops if laid.plane.drawn else ()
    shapes = [canvas.line(loop.corners) for loop in loops]
    modules = "".join(_module_data(module, canvas) for module in laid.plane.modules)
    closed = polylines(canvas.side(side) for side in laid.sides if not side.open)
    opened = [canvas.side(side) for side in laid.sides if side.open]
    rails = svg.path("rail", polylines(_rails(canvas)), stroke_width=2 * size)
    return [
        svg.group("Outlines", svg.path("inner", polylines(shapes, closed=True))),
        svg.group(
            f"{len(laid.plane.modules)} modules", svg.path("module", modules, stroke_width=size)
        ),
        svg.group("Zones", *_draw_zones(canvas)),
        svg.group(f"{len(laid.rails)} rails", rails),
        svg.group("Outline", svg.path("outline", closed)),
        svg.group(f"{len(opened)} sides left open", svg.path("open", polylines(opened))),
    ]


def _module_data(module: Module, canvas: Canvas) -> str:
    """Return a true rectangle, rotated counterclockwise about its lower left corner."""
    px_per_nm, corner = canvas.scale.px_per_nm, canvas.at((module.x_nm, module.y_nm))
    width, height = module.width_nm * px_per_nm, module.height_nm * px_per_nm
    if not module.turn_degrees:
        start = f"M{corner.real:.1f} {corner.imag:.1f}"
        return f"{start}v{-height:.1f}h{width:.1f}v{height:.1f}z"
    right = rect(width, -radians(module.turn_degrees))
    up = rect(height, -radians(module.turn_degrees + 90))
    return polyline([corner, corner + right, corner + right + up, corner + up], closed=True)


def _rails(canvas: Canvas) -> Iterator[list[PagePoint]]:
    """Yield the parts of rails that are on or near the arrays."""
    margin = _RAIL_MARGIN_NM * canvas.scale.px_per_nm
    right, bottom = canvas.width + margin, canvas.height + margin
    for rail in canvas.laid.rails:
        line = [(at.real, at.imag) for at in canvas.line((rail.start, rail.end))]
        clipped = shapely.clip_by_rect(shapely.LineString(line), -margin, -margin, right, bottom)
        if not clipped.is_empty:
            yield [complex(x, y) for x, y in clipped.coords]


def _draw_zones(canvas: Canvas) -> Iterator[str]:
    """Yield, for each zone on the plan, bands inside the array along its sides."""
    near, far = _ZONE_INSET_PX * -1j, (_ZONE_INSET_PX + ZONE_DEPTH_PX) * -1j
    for zone, fill in legend.zone_fills(canvas.rules).items():
        sides = [s for s in canvas.laid.sides if s.zone == zone and not s.open]
        lines = [(line, unit(line)) for line in map(canvas.side, sides)]
        bands = polylines(
            ((a + u * near, b + u * near, b + u * far, a + u * far) for (a, b), u in lines),
            closed=True,
        )
        drawn = svg.path("zone", bands, title=f"{zone} zone")
        yield svg.element("g", drawn, fill=fill) if bands else ""


def _draw_channel(canvas: Canvas) -> Iterator[str]:
    """Yield the channel with all symbols on it, lowest first, and occupy their boxes."""
    runs, size = canvas.laid.runs, canvas.symbol_size

    def symbols(
        name: str, kind: str, lines: Sequence[Sequence[PagePoint]], half: float, width: float = 1
    ) -> str:
        """Return lines as one path in a group that is named by their count."""
        for line in lines:
            canvas.occupancy.occupy(line, half)
        data = polylines(lines, closed=kind not in ("over", "overlap", "outline"))
        drawn = svg.path(kind, data, stroke_width=width)
        background = svg.path("under", data, stroke_width=width + 2) if kind == "overlap" else ""
        return svg.group(f"{len(lines)} {name}", background + drawn)

    yield svg.group("Returns", *(line for run in runs for line in _draw_returns(run, canvas)))
    spans = [(run.placed, span) for run in runs for span in run.layout.overlong]
    paths = [canvas.line(path_on(on, span.start_nm, span.length_nm)) for on, span in spans]
    yield symbols("overlong spans", "over", paths, _UNSUPPORTED_PX / 2, _UNSUPPORTED_PX)
    yield from (_draw_run(run, canvas) for run in runs)
    overlaps = [(run.placed, overlap) for run in runs for overlap in run.layout.overlaps]
    paths = [canvas.line(path_on(on, one.start_nm, one.overlap_nm)) for on, one in overlaps]
    yield symbols("overlaps", "overlap", paths, 7.5 * size, 13 * size)
    tabs = [(side, tab) for run in runs for side, tab in run.placed.tabs_by_side()]
    for upright, kind in ((False, "tab"), (True, "tab side")):
        own = [
            (canvas.at(along(side, tab.at_nm)), unit(canvas.side(side)))
            for side, tab in tabs
            if tab.upright == upright
        ]
        yield symbols("tabs", kind, [legend.tab(at, ahead, size) for at, ahead in own], 1)
    clips = [(run.placed, at) for run in runs for at in run.clips_nm]
    spots = [place_on(placed, at) for placed, at in clips]
    shapes = [legend.clip(canvas.at(spot), unit(canvas.side(side)), size) for side, spot in spots]
    yield symbols("clips", "clip", shapes, 1)
    for inside, name in ((False, "outside corners"), (True, "inside corners")):
        corners = [canvas.side(side)[0] for side in canvas.laid.corners if side.inside == inside]
        shapes = [legend.corner(at, size, inside=inside) for at in corners]
        yield symbols(name, "corner", shapes, 2, 1.6)
    yield _draw_penetrations(canvas)
    firsts = [piece_line(run, run.pieces[0], canvas) for run in runs if run.pieces]
    parts = [part for line in firsts for part in list(segments(line))[:1]]
    arrows = [legend.start_arrow(part[0], unit(part), size) for part in parts]
    yield symbols("starts of runs", "outline", arrows, 1)


def _draw_run(run: LaidRun, canvas: Canvas) -> str:
    """Return the pieces of a run."""
    width, pieces = _CHANNEL_PX * canvas.symbol_size, []
    for at, named in enumerate(run.pieces):
        line = piece_line(run, named, canvas)
        canvas.occupancy.occupy(line, width / 2 + 1)
        title = f"{named.name}, cut {canvas.length_text(named.piece.cut_nm)}"
        if named.piece.returned_nm:
            title += f" with a return of {canvas.length_text(named.piece.returned_nm)}"
        pattern = legend.piece_pattern(at, len(run.pieces))
        pieces.append(legend.piece(pattern, polyline(line), width, title))
    names = [named.name for named in run.pieces]
    title = f"Pieces {names[0]} to {names[-1]}" if names else "No pieces"
    return svg.group(title, *pieces)


def _draw_returns(run: LaidRun, canvas: Canvas) -> Iterator[str]:
    for placed in run.returns:
        line = canvas.line((placed.bend, placed.foot))
        canvas.occupancy.occupy(line, 3)
        at = placed.made.piece
        kind = f"p{legend.piece_pattern(at, len(run.pieces))}"
        title = f"Return of {run.pieces[at].name}"
        yield svg.path(kind, polyline(line), title=title, stroke_width=3.5 * canvas.symbol_size)
        yield svg.circle("ink dot", line[1], 3)


def _draw_penetrations(canvas: Canvas) -> str:
    """Return a ring where the channel is cut out, and a dot where the penetration itself is."""
    places = [
        (run.placed, at_nm) for run in canvas.laid.runs for at_nm in run.placed.penetrations_nm
    ]
    rings = [canvas.at(place_on(on, at_nm)[1]) for on, at_nm in places]
    dots = canvas.nearby(canvas.laid.plane.penetrations)
    for point in (*rings, *dots):
        canvas.occupancy.occupy([point], 9)
    return svg.group(
        f"{len(dots)} penetrations, {len(rings)} cutouts",
        *(svg.circle("cut", point, 7 * canvas.symbol_size) for point in rings),
        *(svg.circle("ink", point, 3) for point in dots),
    )


def _edges(canvas: Canvas) -> tuple[list[int], list[int]]:
    """Return where arrays begin and end across and up, from the lower left of them all [nm]."""
    across, up = set(), set()
    for array in canvas.laid.outline.arrays:
        xs = [x - canvas.box.left_nm for x, _ in array.outer.corners]
        ys = [y - canvas.box.lower_nm for _, y in array.outer.corners]
        across |= {min(xs), max(xs)}
        up |= {min(ys), max(ys)}
    return sorted(across), sorted(up)


def _reserve_extension_lines(canvas: Canvas) -> None:
    """Keep the lines free that lead from the arrays to their dimensions."""
    (across, up), px_per_nm, down = _edges(canvas), canvas.scale.px_per_nm, canvas.height * 1j
    for x in (nm * px_per_nm for nm in across):
        canvas.occupancy.occupy([x + 12j + down, x + 70j + down], 1, extend=False)
    for y in (canvas.height - nm * px_per_nm for nm in up):
        canvas.occupancy.occupy([y * 1j - 90, y * 1j - 12], 1, extend=False)


def _draw_dimensions(canvas: Canvas, numbered: list[Numbered]) -> list[str]:
    """Return the dimensions outside everything drawn so far, and occupy their boxes.

    Next to the arrays are their lengths, offsets and walkways, if there are several; further out
    is the whole. A text that is too long for its place has a number, which is added to `numbered`.
    """
    left, _, _, bottom = canvas.occupancy.extent
    across, up = _edges(canvas)
    below = _dimension_lines(across, bottom - canvas.height, 1, canvas, numbered)
    return [below, _dimension_lines(up, -left, -1, canvas, numbered)]


def _dimension_lines(
    edges: Sequence[int],
    near: float,
    out: Literal[1, -1],
    canvas: Canvas,
    numbered: list[Numbered],
) -> str:
    """Return the dimensions of some edges [nm]: below the arrays, or on their left if `out` is -1.

    `near` is how far out everything else is.
    """
    corner, turn, px_per_nm = canvas.height * 1j, 1 if out == 1 else -1j, canvas.scale.px_per_nm
    paths, texts, numbers = "", "", {one.text: one.number for one in numbered}
    for part in [edges, [edges[0], edges[-1]]] if len(edges) > 2 else [edges]:
        line = (near + _DIMENSION_GAP_PX) * out * 1j
        at = [nm * px_per_nm for nm in part]
        paths += polyline([at[0] + line, at[-1] + line])
        paths += polylines([x + 12j * out, x + line + 5j * out] for x in at)
        paths += polylines([x + line - _TICK, x + line + _TICK] for x in at)
        near += _DIMENSION_GAP_PX + 20
        for (a, b), (start, end) in zip(pairwise(at), pairwise(part), strict=True):
            text, kind = canvas.length_text(end - start), "t b"
            middle = (a + b) / 2 + line + (16j if out == 1 else -7j)
            if len(part) > 2 and text_width(text, bold=True) > b - a - 4:
                if text not in numbers:
                    numbers[text] = max((one.number for one in numbered), default=0) + 1
                    numbered.append(Numbered(number=numbers[text], text=text))
                text, kind = str(numbers[text]), "b small"
            texts += svg.text(text, middle, kind, anchor="middle")
            half = text_width(text, bold=True) / 2
            ends = min(a, middle.real - half), max(b, middle.real + half)
            canvas.occupancy.occupy([corner + (x + out * near * 1j) * turn for x in ends], 0.5)
    name = f"{'Widths' if out == 1 else 'Depths'} of arrays"
    body = svg.group(name, svg.path("line", paths), texts)
    return svg.translate(corner, body, 0 if out == 1 else -90)


def _draw_slope(canvas: Canvas) -> str:
    """Return the ridge and eave labels, above and below everything so far."""
    _, top, _, bottom = canvas.occupancy.extent
    middle = canvas.width / 2
    ridge, eave = complex(middle, top - 14), complex(middle, max(bottom, canvas.height) + 28)
    canvas.occupancy.occupy([ridge - 110 - 32j, ridge + 110], 4)
    canvas.occupancy.occupy([eave - 110 - 8j, eave + 110], 4)
    return svg.group(
        "The ridge is at the top, the eave at the bottom",
        svg.path("outline", f"{polyline([ridge - 14j])}v-18m-5 7l5 -7l5 7"),
        svg.text("RIDGE, upslope", ridge, "far", anchor="middle"),
        svg.text("EAVE, downslope", eave, "far", anchor="middle"),
    )


def _scale_bar(canvas: Canvas) -> Block:
    """Return the longest bar of a round length that is not too long, and the scale in words."""
    metric = canvas.scale.system == "metric"
    unit_px = (NM_PER_M if metric else NM_PER_FT) * canvas.scale.px_per_nm
    count = max((n for n in _BAR_LENGTHS if n * unit_px <= _MAX_BAR_PX), default=0.4)
    bar_px, whole = count * unit_px, f"{count:g} {'m' if metric else 'ft'}"
    text = f"{whole}, {canvas.scale.text}"
    body = svg.group(
        f"Scale bar of {whole}",
        svg.path("ink", f"M0 0h{number(bar_px / 2)}v7H0z"),
        svg.path("line frame", f"M0 0h{number(bar_px)}v7H0z"),
        svg.text(text, complex(bar_px + 8, 9), "t q"),
    )
    return Block(width=bar_px + 8 + text_width(text), height=14, body=body)
