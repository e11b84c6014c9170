"""The legend: a sample and a text for each symbol that is on at least one plan."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from gapwright.calc.layout.lay import LaidPlane
from gapwright.drawing import svg, symbols
from gapwright.drawing.canvas import zone_patterns
from gapwright.drawing.channel import piece_pattern
from gapwright.drawing.svg import Block, wrap
from gapwright.quantity.output import SectionDown
from gapwright.quantity.show import System
from gapwright.rulesets.ruleset import RuleSet

COLUMN_PX = 268.0
_COLUMN_GAP_PX = 12.0
_SAMPLE_PX = 46
_ROW_PX = 26.0
_TEXT_PX = 15
_HEAD_PX = 28.0

_ACROSS = f"M0 13H{_SAMPLE_PX}"
_AREA = "M8 3h30v20h-30z"
_Row = tuple[str, str]
"""A sample and its text."""


def _rail(y: float) -> str:
    return svg.path("rail", f"M0 {y}H{_SAMPLE_PX}", stroke_width=2)


def _piece(pattern: int, line_width: float = 0) -> str:
    band = svg.path(f"p{pattern}", _ACROSS, stroke_width=8)
    line = svg.path(f"c{pattern}", _ACROSS, stroke_width=line_width) if line_width else ""
    return band + line


_PIECES = (
    (_piece(0), "piece, with its name and cut length"),
    (_piece(1, 2.9), "next piece"),
    (_piece(2, 8), "piece after that"),
)
_TAB = _rail(19) + svg.path(
    "tab", svg.polyline(symbols.tab((20, 19), (1, 0), (0, -1), 1), closed=True)
)
_RETURN = (
    _rail(22)
    + svg.path("p0", "M8 5L34 22", stroke_width=3.5)
    + svg.circle("ink dot", (34, 22), 3.2)
)
_START = svg.path("outline", symbols.arrow_data(symbols.start_arrow((10, -2), (1, 0), (0, 1), 1)))
_OVERLAP = _piece(0) + symbols.overlaps(f"M14 13H{_SAMPLE_PX - 14}", 1)


def legend(planes: Sequence[LaidPlane], rules: RuleSet, system: System, width: float) -> Block:
    """Return the legend to the plans of one plane or of several, in columns on a width."""
    rows = [_row(*row) for row in _rows(planes, rules, system)]
    step = COLUMN_PX + _COLUMN_GAP_PX
    columns = max(1, min(int((width + _COLUMN_GAP_PX) // step), len(rows)))
    column_height = sum(height for _, height in rows) / columns
    body = [svg.text("Legend", (0, 15), "head")]
    x, y, tallest = 0.0, _HEAD_PX, 0.0
    for row, height in rows:
        is_full = y > _HEAD_PX and y - _HEAD_PX + height / 2 > column_height
        if is_full and x < (columns - 1) * step:
            x, y = x + step, _HEAD_PX
        body.append(svg.translate(x, y, row))
        y += height
        tallest = max(tallest, y)
    width = columns * step - _COLUMN_GAP_PX
    return Block(width=width, height=tallest, body=svg.group("Legend", *body))


def _rows(planes: Sequence[LaidPlane], rules: RuleSet, system: System) -> Iterator[_Row]:
    runs = [run for laid in planes for run in laid.runs]
    if any(laid.plane.modules for laid in planes):
        yield svg.path("module", _AREA), "module"
    if any(laid.plane.drawn for laid in planes):
        yield svg.path("inner", _AREA) + svg.path("outline", _AREA), "outline as given"
    if any(laid.rails for laid in planes):
        yield _rail(13), "rail"
    counts = [len(run.pieces) for run in runs]
    patterns = {piece_pattern(number, count) for count in counts for number in range(count)}
    yield from (_PIECES[pattern] for pattern in sorted(patterns))
    if patterns:
        yield _START, "run starts here, in this direction"
    overlaps_nm = [overlap.overlap_nm for run in runs for overlap in run.layout.overlaps]
    if overlaps_nm:
        least = SectionDown(min(overlaps_nm)).text(system)
        yield _OVERLAP, f"overlap, at least {least}; drawn longer if too short to see"
    yield from _attachments(planes)
    zones = {zone: fill for laid in planes for zone, fill in zone_patterns(laid, rules).items()}
    for zone, fill in sorted(zones.items()):
        sample = svg.element("rect", class_="zone", fill=fill, x=0, y=8, width=_SAMPLE_PX, height=9)
        yield sample, f"{zone} zone"
    if any(side.open for laid in planes for side in laid.sides):
        yield svg.path("open", _ACROSS), "side left open, no channel"
    if any(run.layout.overlong for run in runs):
        yield svg.path("over", _ACROSS), "longer without attachment than the rules allow"


def _attachments(planes: Sequence[LaidPlane]) -> Iterator[_Row]:
    """Yield the rows of tabs, returns, corners and penetrations."""
    runs = [run for laid in planes for run in laid.runs]
    upright = {tab.upright for run in runs for tab in run.placed.tabs}
    if False in upright:
        yield _TAB, "tab, on the upslope face of the rail"
    if True in upright:
        yield _TAB, "tab, on the side of a rail that runs up the slope"
    if any(run.returns for run in runs):
        yield _RETURN, "return, bent in under the array to its rail"
    for inside in sorted({side.inside for laid in planes for side in laid.corners}):
        sample = svg.path("corner", symbols.corner((23, 13), 1, inside=inside))
        yield sample, f"{'inside' if inside else 'outside'} corner"
    if any(laid.plane.penetrations for laid in planes):
        sample = symbols.cut_out((20, 13), 1) + svg.circle("ink", (36, 13), 3)
        yield sample, "cutout in the channel, and its penetration"


def _row(sample: str, text: str) -> tuple[str, float]:
    """Return a sample with its text, from the top of the row, and the height of the row."""
    lines = wrap(text, COLUMN_PX - _SAMPLE_PX - 12)
    at = (_SAMPLE_PX + 12, _ROW_PX / 2 + 4)
    drawn = sample + svg.text_lines(lines, at, spacing=_TEXT_PX)
    return drawn, _ROW_PX + (len(lines) - 1) * _TEXT_PX
