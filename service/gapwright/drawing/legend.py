"""Symbols, and the legend: a sample and a text for each symbol that is on the plans."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from gapwright.calc.layout.lay import LaidPlane
from gapwright.drawing import svg
from gapwright.drawing.svg import SMALL_PX, Block, PagePoint, text_block, wrap
from gapwright.quantity.output import SectionDown
from gapwright.quantity.show import System, long
from gapwright.rulesets.ruleset import RuleSet

COLUMN_PX = 161.0
_SAMPLE_PX = 46
_ROW_PX = 26.0
_LINE_PX = 12


def piece_pattern(number: int, count: int) -> int:
    """Return which of three patterns a piece has: never its neighbor's, around a loop too."""
    return 1 if number and number == count - 1 and number % 3 == 0 else number % 3


def piece(pattern: int, data: str, width: float, title: str = "") -> str:
    """Return a piece along a path: a plain band, or one with a line or strokes on it."""
    band = svg.path(f"p{pattern}", data, title=title, stroke_width=width)
    over = (0, width * 0.36, width)[pattern]
    return band + (svg.path(f"c{pattern}", data, stroke_width=over) if over else "")


def tab(point: PagePoint, ahead: PagePoint, size: float) -> list[PagePoint]:
    """Return the corners of a tab's flag outside a side: upslope of its rail, or on its right."""
    out, up = ahead * 1j, ahead if (-ahead.imag, ahead.real) > (0, 0) else -ahead
    tall = 12 * size
    near, far = point + up * 1.5 * size, point + up * (tall - 1)
    return [near, near + out * tall, far + out * tall * 0.55, far]


def clip(point: PagePoint, ahead: PagePoint, size: float) -> list[PagePoint]:
    """Return the corners of a clip's symbol: a triangle that points into the array."""
    out, half = ahead * 1j * 11 * size, ahead * 5 * size
    return [point, point + out - half, point + out + half]


def corner(point: PagePoint, size: float, *, inside: bool) -> list[PagePoint]:
    """Return the corners of a corner's symbol: a square outside, a diamond inside."""
    first = 6.5 * size if inside else (4.5 + 4.5j) * size
    return [point + first * turn for turn in (1, 1j, -1, -1j)]


def start_arrow(point: PagePoint, ahead: PagePoint, size: float) -> list[PagePoint]:
    """Return the points of an arrow inside a side: foot, tail, and back and forth to its tip."""
    inward, tail = ahead * -1j, point + ahead * -17j * size
    tip = tail + ahead * 24 * size
    barbs = [tip - ahead * 7 * size + inward * side * size for side in (4, -4)]
    return [point + inward * 8 * size, tail, tip, barbs[0], tip, barbs[1]]


def legend(
    plans: str, planes: Sequence[LaidPlane], rules: RuleSet, system: System, width: float
) -> Block:
    """Return the legend to what is on some plans, as they are drawn, in columns on a width."""
    runs = [run for laid in planes for run in laid.runs]
    overlaps_nm = [overlap.overlap_nm for run in runs for overlap in run.layout.overlaps]
    overlap = SectionDown(min(overlaps_nm, default=0)).text(system)
    standard = long(rules.values.piece_length, system, "down").text
    rows = [
        _row(sample, text)
        for mark, sample, text in _rows(rules, standard, overlap)
        if mark in plans
    ]
    head = Block(width=0, height=22, body=svg.text("Legend", 15j, "head"))
    whole = svg.stack([head, svg.columns(rows, width)], 0)
    return Block(width=whole.width, height=whole.height, body=svg.group("Legend", whole.body))


def _rows(rules: RuleSet, standard: str, overlap: str) -> Iterator[tuple[str, str, str]]:
    """Yield what marks a symbol in the text of a plan, a sample of the symbol, and its text."""
    across, area = f"M0 13H{_SAMPLE_PX}", "M8 3h30v20h-30z"
    rail, low_rail = (svg.path("rail", f"M0 {y}H{_SAMPLE_PX}", stroke_width=2) for y in (13, 20))
    tab_flag = svg.path("tab", svg.polyline(tab(20 + 20j, -1j, 1), closed=True))
    return_line = svg.path("p0", "M8 5L34 20", stroke_width=3.5)
    arrow = svg.polyline(start_arrow(10 + 30j, 1, 1))
    yield 'class="module"', svg.path("module", area), "module"
    yield '"Outlines"', svg.path("inner outline", area), "outline as given"
    yield 'class="rail"', rail, "rail"
    yield 'class="p0"', piece(0, across, 8), f"piece, {standard} unless given"
    yield 'class="p1"', piece(1, across, 8), "next piece"
    yield 'class="p2"', piece(2, across, 8), "piece after that"
    yield "starts", svg.path("outline", arrow), "run starts here, in this direction"
    sample = piece(0, across, 8) + "".join(
        svg.path(kind, f"M14 13H{_SAMPLE_PX - 14}", stroke_width=width)
        for kind, width in (("under", 15), ("overlap", 13))
    )
    yield 'class="overlap"', sample, f"overlap, at least {overlap}"
    yield 'class="tab"', low_rail + tab_flag, "tab, on the upslope face of the rail"
    text = "tab, on the side of a rail that runs up the slope"
    yield 'class="tab side"', low_rail + tab_flag, text
    clip_sample = piece(0, across, 8) + svg.path(
        "clip", svg.polyline(clip(23 + 13j, -1, 1), closed=True)
    )
    yield 'class="clip"', clip_sample, "frame clip"
    sample = low_rail + return_line + svg.circle("ink dot", 34 + 20j, 3.2)
    yield "Return of", sample, "return, bent in to its rail"
    for inside, name in ((False, "outside corner"), (True, "inside corner")):
        shape = svg.polyline(corner(23 + 13j, 1, inside=inside), closed=True)
        yield name, svg.path("corner", shape), name
    sample = svg.circle("cut", 20 + 13j, 7) + svg.circle("ink", 36 + 13j, 3)
    yield "penetration", sample, "cutout at a penetration"
    for zone, fill in sorted(zone_fills(rules).items()):
        sample = svg.element("rect", class_="zone", fill=fill, x=0, y=8, width=_SAMPLE_PX, height=9)
        yield f">{zone} zone<", sample, f"{zone} zone"
    yield 'class="open"', svg.path("open", across), "side left open, no channel"
    sample = svg.path("over", across, stroke_width=15) + piece(0, across, 8)
    yield 'class="over"', sample, "longer without attachment than the rules allow"


def zone_fills(rules: RuleSet) -> dict[str, str]:
    """Return what fills each zone; the standard one is bare."""
    marked = sorted(zone for zone in rules.zones if zone != "standard")
    return {zone: f"url(#zone{n % 3})" for n, zone in enumerate(marked)}


def _row(sample: str, text: str) -> Block:
    """Return a sample with its text next to it."""
    lines = wrap(text, COLUMN_PX - _SAMPLE_PX - 8, SMALL_PX)
    height = max(_ROW_PX, len(lines) * _LINE_PX + 4)
    body = text_block(lines, 0, "t small", _LINE_PX).body
    moved = svg.translate(complex(_SAMPLE_PX + 8, 10 - _LINE_PX * min(len(lines), 2) / 2), body)
    return Block(width=COLUMN_PX, height=height, body=sample + moved)
