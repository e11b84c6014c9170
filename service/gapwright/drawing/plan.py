"""The plan of one roof plane to scale: modules, rails, zones, channel, labels and dimensions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import cos, radians, sin

import msgspec
import shapely

from gapwright.calc.layout.lay import LaidPlane
from gapwright.calc.outline import Module
from gapwright.drawing import svg
from gapwright.drawing.callouts import Callout, callouts_of, draw_callouts
from gapwright.drawing.canvas import Canvas, Size, canvas_for, zone_patterns
from gapwright.drawing.channel import draw_channel
from gapwright.drawing.geometry import Segment, inward, length, move
from gapwright.drawing.labels import ZONE_DEPTH_PX, label_pieces, label_sides
from gapwright.drawing.placement import draw_labels
from gapwright.drawing.svg import Block, Point, number, polyline, polylines, text_width
from gapwright.quantity.show import NM_PER_FT, NM_PER_M, System
from gapwright.rulesets.ruleset import RuleSet

_ZONE_INSET_PX = 4.5
_RAIL_MARGIN_NM = 1_000_000_000
"""How far past the arrays a rail is drawn at most: a much longer one would hide the rest."""
_DIMENSION_GAP_PX = 24
_TICK_PX = 5
_BAR_LENGTHS = (1, 2, 4, 10, 20, 40, 100, 200, 400, 1000, 2000, 4000, 10000)
"""In feet or meters."""
_MAX_BAR_PX = 220
_BAR_HEIGHT_PX = 46.0
_HALF_RIDGE_TEXT_PX = 80.0


class Plan(msgspec.Struct, frozen=True, kw_only=True):
    """A plan as a block, what is written below it, and its scale 1:`ratio`."""

    block: Block
    callouts: Sequence[Callout]
    notes: Sequence[str]
    ratio: int


def draw_plan(laid: LaidPlane, rules: RuleSet, system: System, size: Size) -> Plan:
    """Return the plan of a laid-out roof plane, its arrays at most of a size."""
    canvas = canvas_for(laid, rules, system, size)
    callouts = callouts_of(canvas)
    # what is placed first gets the best position: channel, callouts, pieces, sides
    channel = draw_channel(canvas)
    _reserve_extension_lines(canvas)
    discs = draw_callouts(callouts, canvas.occupancy)
    pieces, piece_notes = label_pieces(canvas)
    sides, side_notes = label_sides(canvas)
    body = [
        *_draw_background(canvas),
        *channel,
        draw_labels("Names of sides", sides),
        draw_labels("Names of pieces", pieces),
        discs,
        _draw_dimensions(canvas),
        _draw_slope(canvas),
    ]
    return Plan(
        block=_with_scale_bar("".join(body), canvas),
        callouts=callouts,
        notes=piece_notes + side_notes,
        ratio=canvas.scale.ratio,
    )


def _draw_background(canvas: Canvas) -> list[str]:
    """Return modules or drawn shapes, zones, rails and the outline, lowest first."""
    laid, size = canvas.laid, canvas.symbol_size
    shapes = _drawn_shapes(canvas) if laid.plane.drawn else ()
    modules = "".join(_module_data(module, canvas) for module in laid.plane.modules)
    rails = svg.path("rail", polylines(_rails(canvas)))
    closed = polylines(canvas.side(side) for side in laid.sides if not side.open)
    opened = [canvas.side(side) for side in laid.sides if side.open]
    return [
        svg.group("Outlines", svg.path("inner", polylines(shapes, closed=True))),
        svg.group(
            f"{len(laid.plane.modules)} modules",
            svg.lines_of_width(size, svg.path("module", modules)),
        ),
        svg.group("Zones", *_draw_zones(canvas)),
        svg.group(f"{len(laid.rails)} rails", svg.lines_of_width(2 * size, rails)),
        svg.group("Outline", svg.path("outline", closed)),
        svg.group(f"{len(opened)} sides left open", svg.path("open", polylines(opened))),
    ]


def _module_data(module: Module, canvas: Canvas) -> str:
    """Return a true rectangle, rotated counterclockwise about its lower left corner."""
    px_per_nm = canvas.scale.px_per_nm
    x, y = corner = canvas.at((module.x_nm, module.y_nm))
    width, height = module.width_nm * px_per_nm, module.height_nm * px_per_nm
    if not module.turn_degrees:
        return f"M{x:.1f} {y:.1f}v{-height:.1f}h{width:.1f}v{height:.1f}z"
    angle = radians(module.turn_degrees)
    along, up = (cos(angle), -sin(angle)), (-sin(angle), -cos(angle))
    right = move(corner, along, width)
    corners = [corner, right, move(right, up, height), move(corner, up, height)]
    return polyline(corners, closed=True)


def _drawn_shapes(canvas: Canvas) -> Iterator[list[Point]]:
    """Yield each drawn shape; its holes run the other way around, so that they stay empty."""
    for loop in canvas.laid.outline.loops:
        yield canvas.line(loop.corners)


def _rails(canvas: Canvas) -> Iterator[list[Point]]:
    """Yield the parts of rails that are on or near the arrays."""
    margin = _RAIL_MARGIN_NM * canvas.scale.px_per_nm
    right, bottom = canvas.width + margin, canvas.height + margin
    for rail in canvas.laid.rails:
        line = shapely.LineString(canvas.line((rail.start, rail.end)))
        clipped = shapely.clip_by_rect(line, -margin, -margin, right, bottom)
        if not clipped.is_empty:
            yield [(x, y) for x, y in clipped.coords]


def _draw_zones(canvas: Canvas) -> Iterator[str]:
    """Yield, for each zone on the plan, bands inside the array along its sides."""
    for zone, fill in zone_patterns(canvas.laid, canvas.rules).items():
        sides = [side for side in canvas.laid.sides if side.zone == zone and not side.open]
        data = "".join(_zone_strip(canvas.side(side)) for side in sides)
        yield svg.element("g", svg.path("zone", data, title=f"{zone} zone"), fill=fill)


def _zone_strip(line: Segment) -> str:
    """Return the band inside a side, or nothing if it is too short to see."""
    if length(line) < 1:
        return ""
    (start, end), normal = line, inward(line)
    near, far = _ZONE_INSET_PX, _ZONE_INSET_PX + ZONE_DEPTH_PX
    corners = [(start, near), (end, near), (end, far), (start, far)]
    return polyline([move(point, normal, by) for point, by in corners], closed=True)


def _reserve_extension_lines(canvas: Canvas) -> None:
    """Keep the lines free that lead from the array to its overall dimensions."""
    for x in (0.0, canvas.width):
        canvas.occupancy.reserve((x - 1, canvas.height + 12, x + 1, canvas.height + 70))
    for y in (0.0, canvas.height):
        canvas.occupancy.reserve((-90, y - 1, -12, y + 1))


def _draw_dimensions(canvas: Canvas) -> str:
    """Return the overall dimensions outside everything drawn so far, and occupy their boxes."""
    left, _, _, bottom = canvas.occupancy.extent
    width, height = canvas.width, canvas.height
    y, x = max(bottom, height) + _DIMENSION_GAP_PX, left - _DIMENSION_GAP_PX
    across = canvas.length_text(canvas.box.right_nm - canvas.box.left_nm)
    up = canvas.length_text(canvas.box.upper_nm - canvas.box.lower_nm)
    lines = [
        *_dimension_line((0, y), (width, y)),
        *_dimension_line((x, 0), (x, height)),
        polylines([(at, height + 12), (at, y + _TICK_PX)] for at in (0, width)),
        polylines([(-12, at), (x - _TICK_PX, at)] for at in (0, height)),
    ]
    half = text_width(across, bold=True) / 2
    below = (min(0, width / 2 - half), y, max(width, width / 2 + half), y + 20)
    half = text_width(up, bold=True) / 2
    beside = (x - 20, min(0, height / 2 - half), x, max(height, height / 2 + half))
    canvas.occupancy.occupy([below, beside])
    return svg.group(
        f"Overall {across} wide and {up} deep",
        svg.path("line", "".join(lines)),
        svg.text(across, (width / 2, y + 16), "t b", anchor="middle"),
        svg.translate(x - 7, height / 2, svg.text(up, (0, 0), "t b", anchor="middle"), -90),
    )


def _dimension_line(start: Point, end: Point) -> list[str]:
    """Return a dimension line with slanted ticks at its ends."""
    ticks = [
        f"M{number(x - _TICK_PX)} {number(y + _TICK_PX)}l{2 * _TICK_PX} -{2 * _TICK_PX}"
        for x, y in (start, end)
    ]
    return [polyline([start, end]), *ticks]


def _draw_slope(canvas: Canvas) -> str:
    """Return the ridge and eave labels, above and below everything so far."""
    _, top, _, bottom = canvas.occupancy.extent
    middle = canvas.width / 2
    ridge, eave = top - 14, max(bottom, canvas.height) + 28
    canvas.occupancy.occupy([(middle - 110, ridge - 36, middle + 110, ridge + 4)])
    canvas.occupancy.occupy([(middle - 110, eave - 12, middle + 110, eave + 6)])
    return svg.group(
        "The ridge is at the top, the eave at the bottom",
        svg.path("outline", f"M{number(middle)} {number(ridge - 14)}v-18m-5 7l5 -7l5 7"),
        svg.text("RIDGE, upslope", (middle, ridge), "far", anchor="middle"),
        svg.text("EAVE, downslope", (middle, eave), "far", anchor="middle"),
    )


def _with_scale_bar(body: str, canvas: Canvas) -> Block:
    """Return the plan with its scale bar: next to the ridge arrow, or below if there is no room.

    It is moved so that nothing is left of its corner or above it.
    """
    left, top, right, bottom = canvas.occupancy.extent
    plan = Block(width=right - left, height=bottom - top, body=svg.translate(-left, -top, body))
    bar = _scale_bar(canvas)
    if bar.width > canvas.width / 2 - left - _HALF_RIDGE_TEXT_PX:
        return svg.stack([plan, bar], 16)
    both = plan.body + svg.translate(0, 4, bar.body)
    return Block(width=plan.width, height=plan.height + 8, body=both)


def _scale_bar(canvas: Canvas) -> Block:
    """Return the longest bar of a round length that is not too long, the scale in words below."""
    metric = canvas.scale.system == "metric"
    unit_px = (NM_PER_M if metric else NM_PER_FT) * canvas.scale.px_per_nm
    count = max((n for n in _BAR_LENGTHS if n * unit_px <= _MAX_BAR_PX), default=0.4)
    bar_px, whole = count * unit_px, f"{count:g} {'m' if metric else 'ft'}"
    x, quarter = 4.0, number(bar_px / 4)
    filled = [f"M{number(x + n * bar_px / 4)} 0h{quarter}v7h-{quarter}z" for n in (0, 2)]
    frame = f"M{number(x)} 0h{number(bar_px)}v7h{number(-bar_px)}z"
    body = svg.group(
        f"Scale bar of {whole}",
        svg.path("ink", "".join(filled)),
        svg.path("line frame", frame),
        svg.text("0", (x, 21), anchor="middle"),
        svg.text(f"{count / 2:g}", (x + bar_px / 2, 21), anchor="middle"),
        svg.text(whole, (x + bar_px, 21), anchor="middle"),
        svg.text(canvas.scale.text, (x, 40), "t q"),
    )
    width = max(bar_px + text_width(whole) / 2, text_width(canvas.scale.text)) + 8
    return Block(width=width, height=_BAR_HEIGHT_PX, body=body)
