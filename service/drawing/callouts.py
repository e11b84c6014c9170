"""Callouts: numbered discs where a person must look at a plan, and the text of each number."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import msgspec

from service.calc.layout.conditions import TOO_NARROW, Condition, some, warnings_of
from service.drawing import svg
from service.drawing.canvas import Canvas
from service.drawing.channel import UNSUPPORTED_PX, DrawnRun, unsupported_lines
from service.drawing.geometry import box_around, length, move, outward, point_at, segments
from service.drawing.placement import Occupancy
from service.drawing.svg import LINE_PX, Block, Point, wrap
from service.drawing.symbols import callout
from service.quantity.show import Safe, System, long

_MAX_PER_KIND = 60
_TEXTS = {
    "overlong_span": "Overlong: up to {size} of the channel here is out of reach of any fixing."
    " Fix it in another way, with the makers' consent.",
    "crowded_laps": "A lap here is nearer to a corner, tab or penetration than the rule asks:"
    " there was no better place.",
    "no_layout": "No pieces could be laid along {names}.",
    "rails_unknown": "No rails could be inferred{names}. Tell them, or say that there are none.",
    "penetration_away": "A penetration is too far from any edge to be cut out of the channel.",
    "penetration_at_open_edge": "A penetration is nearest to an edge that is left open, {names}:"
    " nothing is cut out for it.",
    "unknown_edge": "There is no edge {names}; what was told of it has no effect.",
    "strips_meet": "Two strips meet here, at the start of {names}: no piece runs round the corner."
    " Close the joint.",
    "uneven_edges": "Edges shorter than a mark of the tape: {names}, the shortest {size}. Each end"
    " of one is a corner; see whether these modules stand in line.",
    "hole_too_narrow": "A hole only {size} wide is too narrow for a hand. Decide whether it is"
    " closed across or left out.",
    "slot_too_narrow": "A slot only {size} wide is too narrow for a hand. Decide whether it is"
    " closed across.",
    "arrays_near": "Two arrays are only {size} apart; one barrier round both may do.",
    "touching_at_corner": "Arrays, or a hole and the outside, touch at a corner only.",
    "overlap_within_rounding": "Turned modules overlap by {size} at most, as where corners were"
    " rounded; they are taken to touch.",
}


class Callout(msgspec.Struct, frozen=True, kw_only=True):
    """All conditions of one kind: their number on the plan, their text, and where they are."""

    number: int
    text: str
    points: Sequence[Point]


def callouts_of(runs: Sequence[DrawnRun], canvas: Canvas) -> list[Callout]:
    """Return what a person must look at on a plane, one callout a kind."""
    kinds: dict[str, list[Condition]] = {}
    for condition in warnings_of(canvas.laid, canvas.rules.values):
        kinds.setdefault(condition.kind, []).append(condition)
    callouts = []
    for number, (kind, conditions) in enumerate(kinds.items(), 1):
        if kind == "overlong_span":
            lines = [line for run in runs for line in unsupported_lines(run, canvas)]
            points = [_outside_middle(line) for line in lines]
        else:
            points = canvas.nearby(one.place for one in conditions if one.place)
        text = _text(kind, conditions, canvas.scale.system)
        callouts.append(Callout(number=number, text=text, points=points))
    return callouts


def _text(kind: str, conditions: Sequence[Condition], system: System) -> str:
    sizes = [one.size_nm for one in conditions]
    safe: Safe = "down" if kind in TOO_NARROW else "up"
    worst = min(sizes) if kind in TOO_NARROW or kind == "uneven_edges" else max(sizes)
    text = _TEXTS[kind].format(
        size=long(worst, system, safe).text,
        names=some(list(dict.fromkeys(one.name for one in conditions))),
    )
    places = sum(one.place is not None for one in conditions)
    return f"{text} ({places} places)" if places > 1 else text


def _outside_middle(line: Sequence[Point]) -> Point:
    """Return the point of a callout for a line: outside the middle of its longest part."""
    part = max(segments(line), key=length)
    return move(point_at(part, 0.5), outward(part), UNSUPPORTED_PX + 14)


def draw_callouts(callouts: Sequence[Callout], occupancy: Occupancy) -> str:
    """Return a numbered disc at each point, or near it where it is occupied."""
    discs = []
    for one in callouts:
        for point in one.points[:_MAX_PER_KIND]:
            free = (at for at in _positions(point) if occupancy.is_free([box_around(at, 10)]))
            at = next(free, point)
            occupancy.occupy([box_around(at, 10)])
            discs.append(callout(at, one.number))
    return svg.group("What to look at", *discs)


def _positions(point: Point) -> Iterator[Point]:
    yield point
    for away in (22.0, 36.0, 52.0):
        for vector in ((0, -1), (0, 1), (1, 0), (-1, 0), (0.7, -0.7), (-0.7, -0.7)):
            yield move(point, vector, away)


def callout_list(callouts: Sequence[Callout], notes: Sequence[str], width: float) -> Block:
    """Return the texts of the callouts and the notes on a plan, `width` wide; may be empty."""
    body: list[str] = []
    y = 0.0
    if callouts:
        body.append(svg.text("To look at", (0, 15), "head"))
        y = 24
    for one in callouts:
        lines = wrap(one.text, width - 40)
        body.append(callout((10, y + 12), one.number))
        body.append(svg.text_lines(lines, (28, y + 16)))
        y += len(lines) * LINE_PX + 6
    for note in notes:
        lines = wrap(note, width)
        body.append(svg.text_lines(lines, (0, y + 14), "t q"))
        y += len(lines) * LINE_PX
    return Block(width=width, height=y, body=svg.group("Remarks", *body))
