"""What lies under the channel: modules, rails, the outline, zones and edges left open."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import cos, radians, sin

from service.calc.layout.edges import PlacedEdge
from service.calc.layout.lay import LaidPlane
from service.calc.layout.plane import Rail
from service.calc.outline import Module
from service.drawing.lines import outward, stepped
from service.drawing.sheet import Sheet
from service.drawing.svg import Dot, group, num, path, trail
from service.rulesets.ruleset import RuleSet

ZONE_PX = 9
"""How deep the strip is that marks a zone along its edge."""
_OFF_PX = 4.5
_MARGIN_NM = 1_000_000_000
"""How far past the arrays a rail is drawn at most: one told much longer would hide the rest."""


def draw_ground(laid: LaidPlane, sheet: Sheet, zones: Sequence[str]) -> list[str]:
    """Return modules or drawn shapes, zones, rails and the outline, lowest first.

    `zones` are all zones of the rule set that have a pattern, in its order.
    """
    modules = _thin(_modules(laid.plane.modules, sheet), "module", 1, sheet)
    shapes = [path("".join(_shapes(laid, sheet)), "inner")] if laid.plane.drawn else []
    rails = "".join(trail(sheet.line(rail)) for rail in _seen(laid.rails, sheet))
    closed = [trail(_line(edge, sheet)) for edge in laid.edges if not edge.open]
    opened = [trail(_line(edge, sheet)) for edge in laid.edges if edge.open]
    return [
        group("Areas drawn", shapes),
        group(f"{len(laid.plane.modules)} modules", modules),
        group("Zones", list(_zones(laid, sheet, zones))),
        group(f"{len(laid.rails)} rails", _thin(rails, "rail", 2, sheet)),
        group("Outline", [path("".join(closed), "outline")] if closed else []),
        group(f"{len(opened)} edges left open", [path("".join(opened), "open")] if opened else []),
    ]


def zones_in(laid: LaidPlane, zones: Sequence[str]) -> list[str]:
    """Return those of the zones that occur on edges with a channel."""
    found = {edge.zone for edge in laid.edges if not edge.open}
    return [zone for zone in zones if zone in found]


def marked_zones(rules: RuleSet) -> list[str]:
    """Return the zones of a rule set that are marked on a plan: all but the standard one."""
    return sorted(zone for zone in rules.zones if zone != "standard")


def _thin(data: str, kind: str, width: float, sheet: Sheet) -> list[str]:
    """Return a path whose lines are the thinner the smaller the signs are; none without data."""
    if not data:
        return []
    return [f'<g stroke-width="{num(width * sheet.sign)}">{path(data, kind)}</g>']


def _modules(modules: Sequence[Module], sheet: Sheet) -> str:
    """Return all modules as one path: true rectangles, turned as they are on the roof."""
    each, left, upper = sheet.scale.px_per_nm, sheet.box.left_nm, sheet.box.upper_nm
    parts = []
    for module in modules:
        x, y = (module.x_nm - left) * each, (upper - module.y_nm) * each
        w, h = module.width_nm * each, module.height_nm * each
        if module.turn_degrees:
            parts.append(trail(_turned((x, y), w, h, module.turn_degrees), closed=True))
        else:
            parts.append(f"M{x:.1f} {y:.1f}v{-h:.1f}h{w:.1f}v{h:.1f}z")
    return "".join(parts)


def _turned(corner: Dot, width: float, height: float, degrees: float) -> list[Dot]:
    """Return the corners of a module turned anticlockwise about its lower left one."""
    turn = radians(degrees)
    along, up = (cos(turn), -sin(turn)), (-sin(turn), -cos(turn))
    right = stepped(corner, along, width)
    return [corner, right, stepped(right, up, height), stepped(corner, up, height)]


def _shapes(laid: LaidPlane, sheet: Sheet) -> Iterator[str]:
    """Yield each drawn shape; its holes run the other way round, so that they stay empty."""
    for array in laid.outline.arrays:
        for loop in (array.outer, *array.holes):
            spots = [(corner.point.x_nm, corner.point.y_nm) for corner in loop.corners]
            yield trail(sheet.line(spots), closed=True)


def _seen(rails: Sequence[Rail], sheet: Sheet) -> Iterator[tuple[tuple[int, int], tuple[int, int]]]:
    """Yield the parts of rails that lie on or near the arrays."""
    box = sheet.box
    lows = (box.left_nm - _MARGIN_NM, box.lower_nm - _MARGIN_NM)
    highs = (box.right_nm + _MARGIN_NM, box.upper_nm + _MARGIN_NM)
    for rail in rails:
        first, last = 0.0, 1.0
        for start, end, low, high in zip(rail.start, rail.end, lows, highs, strict=True):
            if start == end:
                first, last = (first, last) if low <= start <= high else (1.0, 0.0)
                continue
            cuts = sorted(((low - start) / (end - start), (high - start) / (end - start)))
            first, last = max(first, cuts[0]), min(last, cuts[1])
        if first < last:
            yield _part(rail, first), _part(rail, last)


def _part(rail: Rail, share: float) -> tuple[int, int]:
    (ax, ay), (bx, by) = rail.start, rail.end
    return round(ax + (bx - ax) * share), round(ay + (by - ay) * share)


def _line(placed: PlacedEdge, sheet: Sheet) -> list[Dot]:
    edge = placed.edge
    return sheet.line(((edge.start.x_nm, edge.start.y_nm), (edge.end.x_nm, edge.end.y_nm)))


def _zones(laid: LaidPlane, sheet: Sheet, zones: Sequence[str]) -> Iterator[str]:
    """Yield, for each zone, strips inside the array along its edges."""
    for zone in zones_in(laid, zones):
        strips = "".join(
            _strip(_line(edge, sheet)) for edge in laid.edges if edge.zone == zone and not edge.open
        )
        title = f"{zone} zone"
        yield f'<g fill="url(#zone{zones.index(zone) % 3})">{path(strips, "zone", title)}</g>'


def _strip(line: list[Dot]) -> str:
    start, end = line
    if num(start[0]) == num(end[0]) and num(start[1]) == num(end[1]):
        return ""
    way = outward((start, end), 1)
    near, far = -_OFF_PX, -_OFF_PX - ZONE_PX
    corners = [(start, near), (end, near), (end, far), (start, far)]
    return trail([stepped(place, way, by) for place, by in corners], closed=True)
