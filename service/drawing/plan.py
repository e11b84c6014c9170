"""The plan of one roof plane to scale: modules, rails, zones, channel, labels and dimensions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import cos, radians, sin

import msgspec
import shapely

from service.calc.layout.edges import PlacedEdge
from service.calc.layout.lay import LaidPlane
from service.calc.layout.plane import Rail
from service.calc.outline import Module
from service.drawing import svg
from service.drawing.callouts import Callout, callouts_of, draw_callouts
from service.drawing.channel import draw_channel, drawn_run
from service.drawing.descriptions import label_notes
from service.drawing.geometry import Segment, move, outward
from service.drawing.labels import label_edges, label_pieces
from service.drawing.legend import PlanSymbols, marked_zones, symbols_on, zone_fill, zones_on
from service.drawing.placement import Occupancy, draw_labels
from service.drawing.scale import AreaSizes, PlanView, scale_bar, view_of
from service.drawing.svg import Block, Point, number, polyline, text_width
from service.drawing.symbols import ZONE_DEPTH_PX
from service.quantity.show import System, long
from service.rulesets.ruleset import RuleSet

_ZONE_INSET_PX = 4.5
_RAIL_MARGIN_NM = 1_000_000_000
"""How far past the arrays a rail is drawn at most: a much longer one would hide the rest."""
_DIMENSION_GAP_PX = 24
_TICK_PX = 5
_BAR_HEIGHT_PX = 46.0
_HALF_RIDGE_TEXT_PX = 80.0


class Plan(msgspec.Struct, frozen=True, kw_only=True):
    """A plan as a block, the symbols on it, what is written beside it, and its scale 1:`ratio`."""

    block: Block
    symbols: PlanSymbols
    callouts: Sequence[Callout]
    notes: Sequence[str]
    ratio: int


def draw_plan(
    laid: LaidPlane, rules: RuleSet, system: System, sizes: AreaSizes, *, bar_on_top: bool = False
) -> Plan:
    """Return the plan of a laid-out roof plane, its arrays in one of the sizes.

    `bar_on_top` puts the scale bar beside the ridge's arrow if there is room.
    """
    view = view_of(laid, system, sizes)
    zones = marked_zones(rules)
    runs = [drawn_run(run, laid.rails, view, rules.values, system) for run in laid.runs]
    callouts = callouts_of(laid, runs, view, system)
    occupancy = Occupancy()
    # what is placed first gets the best position: channel, callouts, pieces, edges
    channel = draw_channel(laid, runs, view, occupancy)
    _reserve_extension_lines(view, occupancy)
    discs = draw_callouts(callouts, occupancy)
    pieces = [label_pieces(run, occupancy) for run in runs]
    edges, unlabeled = label_edges(laid, view, system, occupancy)
    labels = [label for one in pieces for label in one.labels]
    body = [
        *_draw_background(laid, view, zones),
        *channel,
        draw_labels("Names of edges", edges),
        draw_labels("Names of pieces", labels),
        discs,
        _draw_dimensions(view, system, occupancy),
        _draw_slope(view, occupancy),
    ]
    return Plan(
        block=_with_scale_bar("".join(body), view, occupancy, bar_on_top),
        symbols=symbols_on(laid, runs, view, zones, pieces),
        callouts=callouts,
        notes=label_notes(pieces, unlabeled),
        ratio=view.scale.ratio,
    )


def _draw_background(laid: LaidPlane, view: PlanView, zones: Sequence[str]) -> list[str]:
    """Return modules or drawn shapes, zones, rails and the outline, lowest first."""
    shapes = "".join(_drawn_shapes(laid, view)) if laid.plane.drawn else ""
    modules = _module_data(laid.plane.modules, view)
    rails = "".join(_rail_data(laid.rails, view))
    closed = [_edge_line(edge, view) for edge in laid.edges if not edge.open]
    opened = [_edge_line(edge, view) for edge in laid.edges if edge.open]
    thin, thicker = view.symbol_size, 2 * view.symbol_size
    return [
        svg.group("Areas drawn", *_paths("inner", shapes)),
        svg.group(f"{len(laid.plane.modules)} modules", *_paths("module", modules, thin)),
        svg.group("Zones", *_draw_zones(laid, view, zones)),
        svg.group(f"{len(laid.rails)} rails", *_paths("rail", rails, thicker)),
        svg.group("Outline", *_paths("outline", "".join(map(polyline, closed)))),
        svg.group(
            f"{len(opened)} edges left open", *_paths("open", "".join(map(polyline, opened)))
        ),
    ]


def _paths(kind: str, data: str, width: float | None = None) -> Iterator[str]:
    """Yield the path of some data, of a line width if given; nothing without data."""
    if data:
        path = svg.path(kind, data)
        yield path if width is None else svg.element("g", path, stroke_width=width)


def _module_data(modules: Sequence[Module], view: PlanView) -> str:
    """Return all modules as the data of one path: true rectangles, rotated as on the roof."""
    px_per_nm = view.scale.px_per_nm
    parts = []
    for module in modules:
        x, y = view.at((module.x_nm, module.y_nm))
        width, height = module.width_nm * px_per_nm, module.height_nm * px_per_nm
        if module.turn_degrees:
            corners = _rotated((x, y), width, height, module.turn_degrees)
            parts.append(polyline(corners, closed=True))
        else:
            parts.append(f"M{x:.1f} {y:.1f}v{-height:.1f}h{width:.1f}v{height:.1f}z")
    return "".join(parts)


def _rotated(corner: Point, width: float, height: float, degrees: float) -> list[Point]:
    """Return the corners of a module rotated counterclockwise about its lower left one."""
    angle = radians(degrees)
    along, up = (cos(angle), -sin(angle)), (-sin(angle), -cos(angle))
    right = move(corner, along, width)
    return [corner, right, move(right, up, height), move(corner, up, height)]


def _drawn_shapes(laid: LaidPlane, view: PlanView) -> Iterator[str]:
    """Yield each drawn shape; its holes run the other way around, so that they stay empty."""
    for array in laid.outline.arrays:
        for loop in (array.outer, *array.holes):
            corners = [(corner.point.x_nm, corner.point.y_nm) for corner in loop.corners]
            yield polyline(view.line(corners), closed=True)


def _rail_data(rails: Sequence[Rail], view: PlanView) -> Iterator[str]:
    """Yield the parts of rails that are on or near the arrays."""
    box = view.box
    near = (
        box.left_nm - _RAIL_MARGIN_NM,
        box.lower_nm - _RAIL_MARGIN_NM,
        box.right_nm + _RAIL_MARGIN_NM,
        box.upper_nm + _RAIL_MARGIN_NM,
    )
    lines = shapely.linestrings([(rail.start, rail.end) for rail in rails]) if rails else []
    for line in shapely.clip_by_rect(lines, *near):
        if not line.is_empty:
            yield polyline(view.line((round(x), round(y)) for x, y in line.coords))


def _edge_line(placed: PlacedEdge, view: PlanView) -> Segment:
    start, end = placed.edge.start, placed.edge.end
    return view.at((start.x_nm, start.y_nm)), view.at((end.x_nm, end.y_nm))


def _draw_zones(laid: LaidPlane, view: PlanView, zones: Sequence[str]) -> Iterator[str]:
    """Yield, for each zone that occurs, strips inside the array along its edges."""
    for zone in zones_on(laid, zones):
        lines = [_edge_line(e, view) for e in laid.edges if e.zone == zone and not e.open]
        strips = svg.path("zone", "".join(map(_zone_strip, lines)), title=f"{zone} zone")
        yield svg.element("g", strips, fill=zone_fill(zone, zones))


def _zone_strip(line: Segment) -> str:
    """Return the strip inside an edge; nothing for one too short to be seen."""
    start, end = line
    if polyline([start]) == polyline([end]):
        return ""
    inward = outward(line, -1)
    near, far = _ZONE_INSET_PX, _ZONE_INSET_PX + ZONE_DEPTH_PX
    corners = [(start, near), (end, near), (end, far), (start, far)]
    return polyline([move(point, inward, by) for point, by in corners], closed=True)


def _reserve_extension_lines(view: PlanView, occupancy: Occupancy) -> None:
    """Keep the lines free that lead from the array to its overall dimensions."""
    for x in (0.0, view.width):
        occupancy.reserve((x - 1, view.height + 12, x + 1, view.height + 70))
    for y in (0.0, view.height):
        occupancy.reserve((-90, y - 1, -12, y + 1))


def _draw_dimensions(view: PlanView, system: System, occupancy: Occupancy) -> str:
    """Return the overall dimensions outside everything drawn so far, and occupy their boxes."""
    left, _, _, bottom = occupancy.extent()
    width, height = view.width, view.height
    y, x = max(bottom, height) + _DIMENSION_GAP_PX, min(left, 0) - _DIMENSION_GAP_PX
    across = long(view.box.right_nm - view.box.left_nm, system, "up").text
    up = long(view.box.upper_nm - view.box.lower_nm, system, "up").text
    lines = [
        *_dimension_line((0, y), (width, y)),
        *_dimension_line((x, 0), (x, height)),
        polyline([(0, height + 12), (0, y + _TICK_PX)]),
        polyline([(width, height + 12), (width, y + _TICK_PX)]),
        polyline([(-12, 0), (x - _TICK_PX, 0)]),
        polyline([(-12, height), (x - _TICK_PX, height)]),
    ]
    half = text_width(across, bold=True) / 2
    below = (min(0, width / 2 - half), y, max(width, width / 2 + half), y + 20)
    half = text_width(up, bold=True) / 2
    beside = (x - 20, min(0, height / 2 - half), x, max(height, height / 2 + half))
    occupancy.occupy([below, beside])
    return svg.group(
        f"Overall {across} wide and {up} high",
        svg.path("line", "".join(lines)),
        svg.text(across, (width / 2, y + 16), "t b", anchor="middle"),
        svg.text(up, (x - 7, height / 2), "t b", anchor="middle", rotation=-90),
    )


def _dimension_line(start: Point, end: Point) -> list[str]:
    """Return a dimension line with slanted ticks at its ends."""
    ticks = [
        f"M{number(x - _TICK_PX)} {number(y + _TICK_PX)}l{2 * _TICK_PX} -{2 * _TICK_PX}"
        for x, y in (start, end)
    ]
    return [polyline([start, end]), *ticks]


def _draw_slope(view: PlanView, occupancy: Occupancy) -> str:
    """Return the texts that tell the ridge from the eave, above and below everything so far."""
    _, top, _, bottom = occupancy.extent()
    middle = view.width / 2
    ridge, eave = min(top, 0) - 14, max(bottom, view.height) + 28
    occupancy.occupy([(middle - 110, ridge - 36, middle + 110, ridge + 4)])
    occupancy.occupy([(middle - 110, eave - 12, middle + 110, eave + 6)])
    return svg.group(
        "The ridge is up on this sheet, the eave down",
        svg.path("outline", f"M{number(middle)} {number(ridge - 14)}v-18m-5 7l5 -7l5 7"),
        svg.text("RIDGE, upslope", (middle, ridge), "far", anchor="middle"),
        svg.text("EAVE, downslope", (middle, eave), "far", anchor="middle"),
    )


def _with_scale_bar(body: str, view: PlanView, occupancy: Occupancy, bar_on_top: bool) -> Block:
    """Return the plan moved so that nothing is left of or above its corner, with its scale bar."""
    left, top, right, bottom = occupancy.extent()
    left, top = min(left, 0), min(top, 0)
    plan = Block(width=right - left, height=bottom - top, body=svg.translate(-left, -top, body))
    if bar_on_top:
        bar = _draw_scale_bar(view, view.scale.text)
        if bar.width <= view.width / 2 - left - _HALF_RIDGE_TEXT_PX:
            both = plan.body + svg.translate(0, 4, bar.body)
            return Block(width=plan.width, height=plan.height + 8, body=both)
    bar = _draw_scale_bar(view, f"{view.scale.text} when printed at full size")
    return svg.stack([plan, bar], 16)


def _draw_scale_bar(view: PlanView, scale_text: str) -> Block:
    """Return the scale bar, and below it the scale in words."""
    bar = scale_bar(view.scale)
    x, length, quarter = 4.0, bar.length_px, number(bar.length_px / 4)
    filled = [f"M{number(x + n * length / 4)} 0h{quarter}v7h-{quarter}z" for n in (0, 2)]
    frame = f"M{number(x)} 0h{number(length)}v7h{number(-length)}z"
    body = svg.group(
        f"Scale bar of {bar.whole}",
        svg.path("ink", "".join(filled)),
        svg.path("line frame", frame),
        svg.text("0", (x, 21), anchor="middle"),
        svg.text(bar.half, (x + length / 2, 21), anchor="middle"),
        svg.text(bar.whole, (x + length, 21), anchor="middle"),
        svg.text(scale_text, (x, 40), "t q"),
    )
    width = max(length + text_width(bar.whole) / 2, text_width(scale_text)) + 8
    return Block(width=width, height=_BAR_HEIGHT_PX, body=body)
