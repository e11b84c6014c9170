"""Overall width and height, the way the roof slopes, and the scale bar."""

from __future__ import annotations

from service.drawing.block import Block
from service.drawing.lettering import width_px
from service.drawing.room import Room
from service.drawing.scale import Bar, bar_for
from service.drawing.sheet import Sheet
from service.drawing.svg import Dot, group, num, path, trail, words
from service.quantity.show import System, long

_AWAY_PX = 24
_TICK_PX = 5
_BAR_PX = 46.0


def draw_overall(sheet: Sheet, system: System, room: Room) -> str:
    """Return the overall dimensions, outside of all that is drawn so far; takes their room."""
    left, _, _, bottom = room.extent()
    box = sheet.box
    wide, high = sheet.width_px, sheet.height_px
    below, beside = max(bottom, high) + _AWAY_PX, min(left, 0) - _AWAY_PX
    across = long(box.right_nm - box.left_nm, system, "up").text
    up = long(box.upper_nm - box.lower_nm, system, "up").text
    lines = [
        *_measured((0, below), (wide, below)),
        *_measured((beside, 0), (beside, high)),
        trail([(0, high + 12), (0, below + _TICK_PX)]),
        trail([(wide, high + 12), (wide, below + _TICK_PX)]),
        trail([(-12, 0), (beside - _TICK_PX, 0)]),
        trail([(-12, high), (beside - _TICK_PX, high)]),
    ]
    half = width_px(across, bold=True) / 2
    room.take([(min(0, wide / 2 - half), below, max(wide, wide / 2 + half), below + 20)])
    half = width_px(up, bold=True) / 2
    room.take([(beside - 20, min(0, high / 2 - half), beside, max(high, high / 2 + half))])
    return group(
        f"Overall {across} wide and {up} high",
        [
            path("".join(lines), "line"),
            words(across, (wide / 2, below + 16), "t b", "middle"),
            words(up, (beside - 7, high / 2), "t b", "middle", -90),
        ],
    )


def keep_clear(sheet: Sheet, room: Room) -> None:
    """Take the room of the lines that lead from the array to its overall dimensions."""
    wide, high = sheet.width_px, sheet.height_px
    for x in (0.0, wide):
        room.keep([(x - 1, high + 12, x + 1, high + 70)])
    for y in (0.0, high):
        room.keep([(-90, y - 1, -12, y + 1)])


def draw_slope(sheet: Sheet, room: Room) -> str:
    """Return the words that tell the ridge from the eave, above and below the array."""
    _, top, _, bottom = room.extent()
    middle = sheet.width_px / 2
    ridge, eave = min(top, 0) - 14, max(bottom, sheet.height_px) + 28
    upwards = f"M{num(middle)} {num(ridge - 14)}v-18m-5 7l5 -7l5 7"
    room.take([(middle - 110, ridge - 36, middle + 110, ridge + 4)])
    room.take([(middle - 110, eave - 12, middle + 110, eave + 6)])
    return group(
        "The ridge is up on this sheet, the eave down",
        [
            path(upwards, "outline"),
            words("RIDGE, upslope", (middle, ridge), "far", "middle"),
            words("EAVE, downslope", (middle, eave), "far", "middle"),
        ],
    )


def bar_block(sheet: Sheet, told: str) -> Block:
    """Return the scale bar, and below it the scale in words."""
    bar = bar_for(sheet.scale)
    wide = max(bar.length_px + width_px(bar.whole) / 2, width_px(told)) + 8
    return Block(width=wide, height=_BAR_PX, body=[_bar(bar, told, (4, 0))])


def _bar(bar: Bar, told: str, at: Dot) -> str:
    """Return the bar and its words from the bar's upper left corner."""
    x, y = at
    quarter = bar.length_px / 4
    filled = "".join(
        f"M{num(x + n * quarter)} {num(y)}h{num(quarter)}v7h{num(-quarter)}z" for n in (0, 2)
    )
    frame = f"M{num(x)} {num(y)}h{num(bar.length_px)}v7h{num(-bar.length_px)}z"
    return group(
        f"Scale bar of {bar.whole}",
        [
            path(filled, "ink"),
            f'<path class="line frame" d="{frame}"/>',
            *_numbers(bar, x, y + 21),
            words(told, (x, y + 40), "t q"),
        ],
    )


def _numbers(bar: Bar, x: float, y: float) -> list[str]:
    return [
        words("0", (x, y), "t", "middle"),
        words(bar.half, (x + bar.length_px / 2, y), "t", "middle"),
        words(bar.whole, (x + bar.length_px, y), "t", "middle"),
    ]


def _measured(start: Dot, end: Dot) -> list[str]:
    """Return a dimension line with the slanted strokes of a draughtsman at its ends."""
    strokes = [
        f"M{num(x - _TICK_PX)} {num(y + _TICK_PX)}l{2 * _TICK_PX} -{2 * _TICK_PX}"
        for x, y in (start, end)
    ]
    return [trail([start, end]), *strokes]
