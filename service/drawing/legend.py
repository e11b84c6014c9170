"""The legend: a sample and a text for each symbol that occurs on some plan, and for no other."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import msgspec

from service.calc.layout.lay import LaidPlane
from service.drawing import svg, symbols
from service.drawing.canvas import Canvas
from service.drawing.channel import DrawnRun, has_enlarged_overlaps
from service.drawing.labels import PieceLabels
from service.drawing.svg import Block, wrap
from service.quantity.show import System, short

COLUMN_PX = 280.0
_SAMPLE_PX = 46
_ROW_PX = 26.0
_TEXT_PX = 15
_HEAD_PX = 36.0

_ACROSS = f"M0 13H{_SAMPLE_PX}"
_AREA = "M8 3h30v20h-30z"


def _rail(y: float) -> str:
    return svg.path("rail", f"M0 {y}H{_SAMPLE_PX}", stroke_width=2)


def _piece(pattern: int, line_width: float = 0) -> str:
    band = svg.path(f"p{pattern}", _ACROSS, stroke_width=8)
    line = svg.path(f"c{pattern}", _ACROSS, stroke_width=line_width) if line_width else ""
    return band + line


_TAB = _rail(19) + svg.path(
    "tab", svg.polyline(symbols.tab((20, 19), (1, 0), (0, -1), 1), closed=True)
)
_RETURN = (
    _rail(22)
    + svg.path("p0", "M8 5L34 22", stroke_width=3.5)
    + svg.circle("ink dot", (34, 22), 3.2)
)
_START = svg.path("outline", symbols.arrow_data(symbols.start_arrow((10, -2), (1, 0), (0, 1), 1)))
_PENETRATION = symbols.cut_out((20, 13), 1) + svg.circle("ink", (36, 13), 3)

# by symbol, in the order of the legend: sample and text; {} is filled in by plan
_BEFORE_ZONES = {
    "module": (svg.path("module", _AREA), "module"),
    "area": (svg.path("inner", _AREA) + svg.path("outline", _AREA), "area as drawn"),
    "rail": (_rail(13), "rail"),
    "p0": (_piece(0), "piece, with its name{lengths}"),
    "p1": (_piece(1, 2.9), "the next piece"),
    "p2": (_piece(2, 8), "the piece after that"),
    "start": (_START, "the work on a run starts here and goes this way"),
    "lap": (
        _piece(0) + symbols.overlaps(f"M14 13H{_SAMPLE_PX - 14}", 1),
        "lap, at least {overlap}{enlarged}",
    ),
    "tab": (_TAB, "tab, cut on the upslope face of the rail"),
    "tab beside": (_TAB, "tab, cut beside a rail that runs up the slope"),
    "return": (_RETURN, "return, turned in under the array and fixed to its rail"),
    "outside": (svg.path("corner", symbols.square((23, 13), 1)), "outside corner"),
    "inside": (svg.path("corner", symbols.diamond((23, 13), 1)), "inside corner"),
    "penetration": (_PENETRATION, "cut-out in the channel, and the penetration it is for"),
}
_AFTER_ZONES = {
    "open": (svg.path("open", _ACROSS), "edge left open: no channel"),
    "overlong": (svg.path("over", _ACROSS), "longer without a fixing than the rule allows"),
}


class PlanSymbols(msgspec.Struct, frozen=True, kw_only=True):
    """The symbols on one plan, its zones with their patterns, and what their texts depend on.

    `min_overlap_nm` is None without overlaps; `enlarged_overlaps`: some are drawn longer than they
    are; `with_lengths`: the cut length stands beside the name of some piece.
    """

    symbols: frozenset[str]
    zones: dict[str, str]
    min_overlap_nm: int | None
    enlarged_overlaps: bool
    with_lengths: bool


def symbols_on(
    runs: Sequence[DrawnRun], pieces: Sequence[PieceLabels], canvas: Canvas
) -> PlanSymbols:
    """Return the symbols that occur on a plan."""
    overlaps = [lap.lap_nm for run in runs for lap in run.laid.layout.laps]
    return PlanSymbols(
        symbols=frozenset(_symbols(canvas.laid, runs)),
        zones=canvas.zones,
        min_overlap_nm=min(overlaps, default=None),
        enlarged_overlaps=has_enlarged_overlaps(runs, canvas),
        with_lengths=any(one.with_lengths for one in pieces),
    )


def _symbols(laid: LaidPlane, runs: Sequence[DrawnRun]) -> Iterator[str]:
    """Yield the symbols on a plan, in no order; some more than once."""
    yield from (f"p{piece.pattern}" for run in runs for piece in run.pieces)
    yield from ("inside" if edge.inside else "outside" for edge in laid.corners)
    yield from ("tab beside" if t.upright else "tab" for r in laid.runs for t in r.placed.tabs)
    others = {
        "module": bool(laid.plane.modules),
        "area": bool(laid.plane.drawn),
        "rail": bool(laid.rails),
        "start": any(run.shows_start for run in runs),
        "lap": any(run.layout.laps for run in laid.runs),
        "return": any(run.layout.returns for run in laid.runs),
        "penetration": bool(laid.plane.penetrations),
        "open": any(edge.open for edge in laid.edges),
        "overlong": any(run.layout.overlong for run in laid.runs),
    }
    yield from (symbol for symbol, occurs in others.items() if occurs)


def legend(plans: Sequence[PlanSymbols], columns: int, system: System) -> Block:
    """Return the legend to one plan or to several, in up to so many columns."""
    rows = [_row(sample, text) for sample, text in _samples(plans, system)]
    columns = max(1, min(columns, len(rows)))
    column_height = sum(height for _, height in rows) / columns
    body = [svg.text("Legend", (0, 15), "head")]
    x, y, tallest = 0.0, _HEAD_PX, 0.0
    for row, height in rows:
        is_full = y > _HEAD_PX and y - _HEAD_PX + height / 2 > column_height
        if is_full and x < (columns - 1) * COLUMN_PX:
            x, y = x + COLUMN_PX, _HEAD_PX
        body.append(svg.translate(x, y, row))
        y += height
        tallest = max(tallest, y)
    return Block(width=columns * COLUMN_PX, height=tallest, body=svg.group("Legend", *body))


def _samples(plans: Sequence[PlanSymbols], system: System) -> Iterator[tuple[str, str]]:
    """Yield the sample and the text of each symbol that occurs on some plan."""
    found = frozenset[str]().union(*(plan.symbols for plan in plans))
    facts = _facts(plans, system)
    for symbol, (sample, text) in _BEFORE_ZONES.items():
        if symbol in found:
            yield sample, text.format(**facts)
    zones = {zone: fill for plan in plans for zone, fill in plan.zones.items()}
    for zone, fill in sorted(zones.items()):
        sample = svg.element("rect", class_="zone", fill=fill, x=0, y=8, width=_SAMPLE_PX, height=9)
        yield sample, f"{zone} zone"
    yield from (row for symbol, row in _AFTER_ZONES.items() if symbol in found)


def _facts(plans: Sequence[PlanSymbols], system: System) -> dict[str, str]:
    """Return what the texts depend on: of several plans, the least overlap of them all."""
    overlaps = [plan.min_overlap_nm for plan in plans if plan.min_overlap_nm is not None]
    enlarged = [plan.enlarged_overlaps for plan in plans if plan.min_overlap_nm is not None]
    some = "drawn" if all(enlarged) else "on some plans drawn"
    return {
        "lengths": " and the length to cut" if any(plan.with_lengths for plan in plans) else "",
        "overlap": short(min(overlaps, default=0), system, "down").text,
        "enlarged": f" ({some} longer than it is)" if any(enlarged) else "",
    }


def _row(sample: str, text: str) -> tuple[str, float]:
    """Return a sample with its text beside it, from the row's upper edge, and its height."""
    lines = wrap(text, COLUMN_PX - _SAMPLE_PX - 30)
    at = (_SAMPLE_PX + 12, _ROW_PX / 2 + 4)
    drawn = sample + svg.text_lines(lines, at, spacing=_TEXT_PX)
    return drawn, _ROW_PX + (len(lines) - 1) * _TEXT_PX
