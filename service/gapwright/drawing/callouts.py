"""Callouts: numbered discs on a plan at its warnings, and the text of each number."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence

import msgspec

from gapwright.calc.layout.warnings import (
    TOO_NARROW,
    Condition,
    condition_text,
    some,
    warnings_of,
)
from gapwright.drawing import svg
from gapwright.drawing.canvas import Canvas
from gapwright.drawing.geometry import box_around, move
from gapwright.drawing.placement import Occupancy
from gapwright.drawing.svg import LINE_PX, Block, Point, wrap
from gapwright.drawing.symbols import callout

_MAX_PER_KIND = 60


class Callout(msgspec.Struct, frozen=True, kw_only=True):
    """All warnings of one kind: their number on the plan, their text, and their points."""

    number: int
    text: str
    points: Sequence[Point]


def callouts_of(canvas: Canvas) -> list[Callout]:
    """Return the warnings of a plane as callouts, one per kind."""
    kinds: dict[Hashable, list[Condition]] = {}
    for warning in warnings_of(canvas.laid, canvas.rules.values):
        # a span's name is a clause of its sentence; other names can be joined in one
        name = warning.name if warning.kind == "overlong_span" else ""
        kinds.setdefault((warning.kind, name), []).append(warning)
    return [
        Callout(
            number=number,
            text=_text(warnings, canvas),
            points=canvas.nearby(one.place for one in warnings if one.place),
        )
        for number, warnings in enumerate(kinds.values(), 1)
    ]


def _text(warnings: Sequence[Condition], canvas: Canvas) -> str:
    """Return the text of the worst warning of a kind, with the names of all."""
    kind, sizes = warnings[0].kind, {one.size_nm for one in warnings}
    is_least_worst = kind in TOO_NARROW or kind == "uneven_sides"
    merged = Condition(
        kind=kind,
        size_nm=min(sizes) if is_least_worst else max(sizes),
        name=some(list(dict.fromkeys(one.name for one in warnings))),
    )
    text = condition_text(merged).text(canvas.scale.system)
    places = sum(one.place is not None for one in warnings)
    if places <= 1:
        return text
    return f"{text} ({places} places{'; the worst is shown' if len(sizes) > 1 else ''})"


def draw_callouts(callouts: Sequence[Callout], occupancy: Occupancy) -> str:
    """Return a numbered disc at each point, or near it where it is occupied."""
    discs = []
    for one in callouts:
        for point in one.points[:_MAX_PER_KIND]:
            free = (at for at in _positions(point) if occupancy.is_free([box_around(at, 10)]))
            at = next(free, point)
            occupancy.occupy([box_around(at, 10)])
            discs.append(callout(at, one.number))
    return svg.group("Callouts", *discs)


def _positions(point: Point) -> Iterator[Point]:
    yield point
    for away in (22.0, 36.0, 52.0):
        for vector in ((0, -1), (0, 1), (1, 0), (-1, 0), (0.7, -0.7), (-0.7, -0.7)):
            yield move(point, vector, away)


def callout_list(callouts: Sequence[Callout], notes: Sequence[str], width: float) -> Block:
    """Return the texts of the callouts and the notes on a plan, `width` wide; may be empty."""
    head = Block(width=width, height=18, body=svg.text("Check", (0, 15), "head"))
    blocks = [head] if callouts else []
    for one in callouts:
        lines = wrap(one.text, width - 40)
        body = callout((10, 12), one.number) + svg.text_lines(lines, (28, 16))
        blocks.append(Block(width=width, height=len(lines) * LINE_PX, body=body))
    blocks += [svg.text_block(wrap(note, width), width, "t q") for note in notes]
    whole = svg.stack(blocks, 6)
    return Block(width=width, height=whole.height, body=svg.group("Remarks", whole.body))
