"""Signs on the channel: tabs, corners, cut-outs for penetrations, and where the work starts."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import hypot

from service.calc.layout.edges import PlacedEdge
from service.calc.layout.lay import LaidPlane
from service.calc.layout.places import along as place_along
from service.calc.layout.places import place_on
from service.drawing.lines import outward, segments, stepped
from service.drawing.room import Room, round_about
from service.drawing.sheet import Sheet
from service.drawing.svg import Dot, group, num, path, trail
from service.drawing.traced import TracedRun

_TAB_PX = 12.0
_LEAST_DEPTH_PX = 45.0


def draw_tabs(laid: LaidPlane, sheet: Sheet, room: Room) -> str:
    """Return a flag at each tab: outside the edge, upslope of the rail or on the right of it."""
    flags = []
    for run in laid.runs:
        for placed, tab in run.placed.tabs_by_edge():
            place = sheet.at(place_along(placed, tab.at_nm))
            flag = tab_flag(place, *_ways(placed), sheet.sign)
            room.take([_round(flag)])
            flags.append(trail(flag, closed=True))
    return group(f"{len(flags)} tabs", [path("".join(flags), "tab")] if flags else [])


def tab_flag(place: Dot, out: Dot, up: Dot, size: float) -> list[Dot]:
    """Return the flag of a tab: it stands out of the edge, on one side of the rail."""
    tall = _TAB_PX * size
    near, far = stepped(place, up, 1.5 * size), stepped(place, up, tall - 1)
    return [near, stepped(near, out, tall), stepped(far, out, tall * 0.55), far]


def draw_corners(laid: LaidPlane, sheet: Sheet, room: Room) -> list[str]:
    """Return a square at each outside corner of the channel, a diamond at each inside one."""
    outside: list[Dot] = []
    inside: list[Dot] = []
    for placed in laid.corners:
        place = sheet.at((placed.edge.start.x_nm, placed.edge.start.y_nm))
        room.take([round_about(place, 6)])
        (inside if placed.inside else outside).append(place)
    return [
        group(f"{len(outside)} outside corners", _signs(outside, square, sheet.sign)),
        group(f"{len(inside)} inside corners", _signs(inside, diamond, sheet.sign)),
    ]


def square(place: Dot, size: float) -> str:
    """Return the sign of an outside corner."""
    (x, y), half = place, 4.5 * size
    corners = [
        (x - half, y - half),
        (x + half, y - half),
        (x + half, y + half),
        (x - half, y + half),
    ]
    return trail(corners, closed=True)


def diamond(place: Dot, size: float) -> str:
    """Return the sign of an inside corner."""
    (x, y), half = place, 6.5 * size
    return trail([(x, y - half), (x + half, y), (x, y + half), (x - half, y)], closed=True)


def draw_penetrations(laid: LaidPlane, sheet: Sheet, room: Room) -> str:
    """Return a ring where the channel is cut out, and a dot where the penetration itself is."""
    rings = [
        sheet.at(place_on(run.placed, at_nm)[1])
        for run in laid.runs
        for at_nm in run.placed.penetrations_nm
    ]
    dots = [place for place in sheet.line(laid.plane.penetrations) if sheet.is_near(place)]
    room.take([round_about(place, 9) for place in rings])
    room.take([round_about(place, 5) for place in dots])
    body = [ring(place, sheet.sign) for place in rings]
    body += [f'<circle class="ink" cx="{num(x)}" cy="{num(y)}" r="3"/>' for x, y in dots]
    return group(f"{len(dots)} penetrations, {len(rings)} cut-outs", body)


def ring(place: Dot, size: float) -> str:
    """Return the sign of a cut-out."""
    x, y = place
    return f'<circle class="cut" cx="{num(x)}" cy="{num(y)}" r="{num(7 * size)}"/>'


def draw_starts(runs: Sequence[TracedRun], sheet: Sheet, room: Room) -> str:
    """Return an arrow inside the array where the work on each run starts, as it goes."""
    arrows = []
    for run in runs:
        part = next(iter(segments(run.pieces[0].line)), None) if starts_shown(run) else None
        if part:
            arrow = start_arrow(part[0], _unit(part), outward(part, -1), sheet.sign)
            room.take([_round(arrow)])
            arrows.append(arrow_path(arrow))
    return group("Where the work starts", [path("".join(arrows), "outline")] if arrows else [])


def starts_shown(run: TracedRun) -> bool:
    """Return whether a run has room for the arrow at its start."""
    return run.depth >= _LEAST_DEPTH_PX or (bool(run.pieces) and not run.run.placed.run.closed)


def start_arrow(place: Dot, ahead: Dot, inwards: Dot, size: float) -> list[Dot]:
    """Return the dots of an arrow beside the edge: its foot, shaft, tip and barbs."""
    foot = stepped(place, inwards, 8 * size)
    tail = stepped(place, inwards, 17 * size)
    tip = stepped(tail, ahead, 24 * size)
    back = stepped(tip, ahead, -7 * size)
    return [foot, tail, tip, stepped(back, inwards, 4 * size), stepped(back, inwards, -4 * size)]


def arrow_path(arrow: Sequence[Dot]) -> str:
    """Return an arrow's path: up to its tip, and its barbs."""
    return trail(arrow[:3]) + trail([arrow[3], arrow[2], arrow[4]])


def _ways(placed: PlacedEdge) -> tuple[Dot, Dot]:
    """Return, on the page, the way out of the array and the way along the edge that goes up."""
    edge = placed.edge
    part = ((edge.start.x_nm, -edge.start.y_nm), (edge.end.x_nm, -edge.end.y_nm))
    ahead = _unit(part)
    goes_up = ahead[1] < 0 or (ahead[1] == 0 and ahead[0] > 0)
    return outward(part, 1), ahead if goes_up else (-ahead[0], -ahead[1])


def _unit(part: tuple[Dot, Dot]) -> Dot:
    (ax, ay), (bx, by) = part
    long = hypot(bx - ax, by - ay)
    return (bx - ax) / long, (by - ay) / long


def _signs(places: Sequence[Dot], sign: Callable[[Dot, float], str], size: float) -> list[str]:
    return [path("".join(sign(place, size) for place in places), "corner")] if places else []


def _round(dots: Sequence[Dot]) -> tuple[float, float, float, float]:
    across, down = [x for x, _ in dots], [y for _, y in dots]
    return min(across) - 1, min(down) - 1, max(across) + 1, max(down) + 1
